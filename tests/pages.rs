//! The pages of `replan`, `pack` and `quote`: what stands on them, what is refused, and how a real browser takes them.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::browser::{Browser, HOSTILE_JOB, axe, hostile_job, hostile_names, is_there, skipped};
use crate::folder::{Answer, Folder};

/// Runs a command that writes a page, and returns the page's path.
fn page(status: i32, folder: &Folder, name: &str, arguments: &[&str]) -> PathBuf {
    let answer = folder.run([arguments, &["-o", name]].concat()).is(status);
    assert!(answer.err.contains("wrote "), "it says so");
    folder.at(name)
}

fn read(page: &Path) -> String {
    fs::read_to_string(page).unwrap()
}

/// The job that is part-way through its day, with its log.
fn part_way() -> Folder {
    Folder::of_scenarios(&["part-way.yaml", "part-way.yaml.ledger"])
}

const JOB: &str = "part-way.yaml";

/// The scenarios that these pages are made of, where they stand in the project.
fn scenarios() -> Folder {
    let names = ["cold-store.yaml", "van-3.yaml", "truck-7.yaml", "tender.yaml", "van-8.csv"];
    let names = names.into_iter().chain(["over-the-limit.yaml", "truck-small.yaml"]);
    let paths: Vec<String> = names.map(|name| format!("scenarios/{name}")).collect();
    Folder::empty().with(&paths.iter().map(String::as_str).collect::<Vec<_>>())
}

/// A quote with its prices, and a truck that is too small.
fn priced_and_overloaded(scenarios: &Folder) -> [PathBuf; 2] {
    let truck = ["pack", "scenarios/over-the-limit.yaml", "--truck", "scenarios/truck-small.yaml"];
    [page(0, scenarios, "tender.html", &["quote", "scenarios/tender.yaml"]), page(1, scenarios, "day.html", &truck)]
}

/// The four pages of jobs whose names are hostile: what is left, with a cylinder over its limit; the truck; both quotes.
fn hostile(cylinders: usize) -> (Folder, [PathBuf; 4]) {
    let job = hostile_job(cylinders);
    let prices = "prices: { currency: EUR, labour: 80..85..95 }\nbring: ['<script>alert(2)</script>']\n";
    let folder = Folder::of(&[(HOSTILE_JOB, &job)]);
    // The same cylinders, in a folder by itself: two yards of one folder that know the same cylinders are one and a copy.
    fs::create_dir(folder.at("priced")).unwrap();
    folder.write("priced/priced.yaml", job.clone() + prices);
    let [script, quotes, ..] = hostile_names();
    // Over 16.4 + 1.05 x 26.2 = 43.9 lb it is in danger (49 CFR 173.304a(a)(2), R-22).
    folder.said(0, &["weigh", HOSTILE_JOB, &quotes, "20"]);
    folder.said(1, &["weigh", HOSTILE_JOB, &script, "44.2"]);
    let pages = [
        page(0, &folder, "replan.html", &["replan", HOSTILE_JOB]),
        page(0, &folder, "pack.html", &["pack", "priced/priced.yaml"]),
        page(0, &folder, "quote.html", &["quote", "priced/priced.yaml"]),
        page(0, &folder, "customer.html", &["quote", "priced/priced.yaml", "--customer", "--draft"]),
    ];
    (folder, pages)
}

#[test]
fn what_is_left_stands_on_cards_and_danger_stands_first() {
    let folder = part_way();
    let first = read(&page(0, &folder, "first.html", &["replan", JOB]));
    // By the scenario's comments 63.0 - 40.0 = 23.0 lb are left; T-2 has 36.4 and gets them: 59.4.
    for said in ["Left in the system: 23.0 lb of R-22.", "<strong>59.4 lb</strong>", "Begun already", "initials"] {
        assert!(first.contains(said), "{said}");
    }
    assert!(!first.split("<script>").next().unwrap().contains("DANGER"));
    assert_eq!(first.matches("<article").count(), 1, "T-1 is done");
    for file in ["part-way.yaml", "part-way.yaml.ledger", "inputs <code>"] {
        assert!(first.contains(file), "{file}");
    }
    // T-1's limit is 68.4 lb; over 28.0 + 1.05 x 47.6 = 77.98 lb (49 CFR 173.304a(a)(2), R-22) it is in danger.
    folder.said(1, &["weigh", JOB, "T-1", "80"]);
    let second = read(&page(0, &folder, "second.html", &["replan", JOB]));
    let (danger, heading) = (second.find("DANGER: T-1: it weighs 80.0 lb"), second.find("<h1>"));
    assert!(danger.is_some() && danger < heading, "danger stands before the heading");
    let hash = |page: &str| page.split("inputs <code>").nth(1).unwrap()[..12].to_owned();
    assert_ne!(hash(&first), hash(&second), "readings kept for one page don't appear on the next");
}

#[test]
fn danger_comes_first_in_words_and_in_data_too() {
    let folder = part_way();
    folder.said(1, &["weigh", JOB, "T-1", "80"]);
    let text = folder.run(["replan", JOB]).out.replace("\n!!", "");
    let first = "!! DANGER: T-1: it weighs 80.0 lb, over 49 CFR 173.304(b), liquid-full by 131 F";
    assert!(text.starts_with(first), "{text}");
    let json = folder.json(&["replan", JOB]);
    assert_eq!(json["dangers"].as_array().unwrap().len(), 1);
}

#[test]
fn the_foreman_ticks_off_what_goes_on_and_what_comes_back() {
    let folder = scenarios();
    let arguments = ["pack", "scenarios/cold-store.yaml", "--truck", "scenarios/truck-7.yaml"];
    let page = read(&page(0, &folder, "pack.html", &arguments));
    assert!(page.split("<script>").next().unwrap().contains("Never heat"), "it is complete without script");
    // Seven cylinders out and back, and five things to bring.
    assert_eq!(page.matches("type=\"checkbox\"").count(), 7 + 5 + 7);
    for said in [
        "aria-label=\"C-106\"",
        "hoist",
        "Gross weights",
        "Rules of the road",
        "Never heat",
        "scenarios/truck-7.yaml, inputs",
    ] {
        assert!(page.contains(said), "{said}");
    }
    // The stop weights that the scenario's comments work out by hand.
    for stop in ["63.7", "64.1", "147.1", "58.9", "34.4"] {
        assert!(page.contains(&format!("data-column=\"STOP AT\">{stop}</td>")), "{stop}");
    }
    let json = folder.json(&arguments);
    let heavy = |fill: &&serde_json::Value| fill["two_people"] == true;
    let heavy: Vec<_> =
        json["stops"][0]["fills"].as_array().unwrap().iter().filter(heavy).map(|fill| &fill["cylinder"]).collect();
    assert_eq!(heavy, ["C-106", "C-107"], "over the 70 lb that one person lifts");
}

#[test]
fn ticks_stay_when_the_page_is_loaded_again_and_belong_to_their_cylinder() {
    let Some(browser) = Browser::find("ticks on the foreman's page") else { return };
    let folder = scenarios();
    let file = page(0, &folder, "pack.html", &["pack", "scenarios/cold-store.yaml"]);
    // Without C-108 the charge doesn't fit, C-103 comes along, and every other cylinder has another place.
    let fewer = page(1, &folder, "fewer.html", &["pack", "scenarios/cold-store.yaml", "--without", "C-108"]);
    let (day, fewer) = (read(&file), read(&fewer));
    let key = |page: &str| page.split("data-key=\"").nth(1).unwrap()[..12].to_owned();
    assert_eq!(key(&day), key(&fewer), "the same files");
    // The page and the other one, opened again beside what was ticked.
    let quoted = |page: &str| serde_json::to_string(page).unwrap().replace("</", "<\\/");
    let script = format!(
        "const boxes = of => [...of.querySelectorAll('input')]; \
         const ticked = of => boxes(of).filter(box => box.checked).map(box => box.ariaLabel || box.labels[0].textContent.trim()); \
         const place = name => boxes(document).findIndex(box => (box.ariaLabel || box.labels[0].textContent.trim()).startsWith(name)); \
         for (const at of [place('C-105'), place('scale'), 2, 2]) boxes(document)[at].click(); \
         const again = (page, then) => {{ const frame = document.createElement('iframe'); frame.srcdoc = page; \
         frame.onload = () => then(ticked(frame.contentDocument)); document.body.append(frame); }}; \
         again({}, same => again({}, other => tell([ticked(document), same, other])));",
        quoted(&day),
        quoted(&fewer)
    );
    let ticked = ["C-105", "scale, to at least 147.1 lb"];
    let told = browser.ask(&file, 1000, &script);
    assert_eq!(told, serde_json::json!([ticked, ticked, ["C-105"]]), "a scale to at least 150 lb wasn't ticked");
}

/// What the page of `scenarios/tender.yaml` says, in the order in which it is read.
const PROMISED: [&str; 44] = [
    "Estimate T-7",
    "Quayside Cold Service",
    "certificate 88-102",
    "Basin Road 4",
    "Pier Row Storage",
    "Pier Row 9",
    "2026-11-20",
    "2026-12-31",
    "We take the refrigerant out of 2 systems at Pier Row cold store",
    "Rack",
    "R-134a",
    "84.0 lb",
    "Old unit",
    "R-22 burnout",
    "11.0 lb",
    "Subtotal",
    "Tax, 19 %",
    "TOTAL",
    "What settles it",
    "Included",
    "disposal of the oil",
    "the hoist",
    "Extra, only if it happens",
    "6.00",
    "9.00",
    "120.00",
    "160.00",
    "380.00",
    "Not included",
    "From you",
    "power",
    "keys",
    "park",
    "locked off",
    "Terms",
    "within 14 days",
    "ours from when",
    "weighing and analysis",
    "a crane",
    "Accepted",
    "Name",
    "Order number",
    "Date",
    "Signature",
];

/// Wages, premium, margin, hire, the reclaimer's rate, minutes, derating, guesses, sources, files, columns.
const OF_THE_HOUSE: [&str; 22] = [
    "85.00",
    "premium",
    "margin",
    "12 %",
    "contingency",
    "hire",
    "nominal 125",
    "1.00",
    "minute",
    "plate",
    "likely",
    "low",
    "high",
    "assum",
    "CFR",
    "memory",
    "common practice",
    "tender.yaml",
    "inputs",
    "Internal",
    "overtime",
    "deposit",
];

/// What is promised stands there, in the order in which it is read, and nothing of how it was figured.
#[test]
fn the_customers_page_says_what_is_promised_and_nothing_of_the_house() {
    let folder = scenarios();
    let internal = read(&page(0, &folder, "quote.html", &["quote", "scenarios/tender.yaml"]));
    let customer = read(&page(0, &folder, "customer.html", &["quote", "scenarios/tender.yaml", "--customer"]));
    for said in
        ["EUR 1\u{a0}134.53", "40 CFR 82.156", "none of them is a forecast", "inputs <code>", "Internal", "margin"]
    {
        assert!(internal.contains(said), "{said}");
    }
    let body = customer.split("</style>").nth(1).unwrap();
    let mut at = 0;
    for said in PROMISED {
        let found = body[at..].find(said).unwrap_or_else(|| panic!("{said} isn't there, or not in its place"));
        at += found + said.len();
    }
    for inside in OF_THE_HOUSE {
        assert!(!body.contains(inside), "{inside}");
    }
    assert!(!internal.contains("<script") && !customer.contains("<script") && !customer.contains("DRAFT"));
}

#[test]
fn a_page_changes_nothing_of_what_is_printed() {
    let folder = scenarios();
    for (name, arguments) in [
        ("pack.html", &["pack", "scenarios/over-the-limit.yaml"][..]),
        ("pack-json.html", &["pack", "scenarios/over-the-limit.yaml", "--json"]),
        ("quote.html", &["quote", "scenarios/tender.yaml"]),
        ("customer.html", &["quote", "scenarios/tender.yaml", "--customer"]),
        ("customer-json.html", &["quote", "scenarios/tender.yaml", "--customer", "--json"]),
        ("csv.html", &["quote", "scenarios/tender.yaml", "--csv"]),
    ] {
        let (without, with) = (folder.run(arguments), folder.run([arguments, &["-o", name]].concat()));
        assert!(!without.out.is_empty());
        assert_eq!((with.out, with.status), (without.out, without.status), "{arguments:?}");
    }
}

#[test]
fn a_page_is_never_written_over_anything_but_a_page() {
    let folder = part_way();
    let files = || (folder.ledger(JOB), [JOB, "notes.html"].map(|name| folder.read(name)));
    folder.write("notes.html", "<p>mine</p>");
    let before = files();
    fs::create_dir(folder.at("folder.html")).unwrap();
    assert!(Command::new("mkfifo").arg(folder.at("pipe.html")).status().is_ok_and(|status| status.success()));
    for command in ["replan", "pack", "quote", "sheet"] {
        for (place, why) in [
            (JOB, "ends in .html"),
            ("page.txt", "ends in .html"),
            ("notes.html", "isn't a page of chargesplit"),
            ("folder.html", "it is a folder"),
            ("pipe.html", "it is a device or a pipe"),
            ("nowhere/page.html", "there is no such folder"),
        ] {
            let said = folder.refused(&[command, JOB, "-o", place]);
            assert!(said.contains(why), "{command} {place}: {said}");
        }
    }
    assert_eq!(files(), before, "nothing was touched");
    // Its own page it replaces.
    let first = page(0, &folder, "page.html", &["sheet", JOB]);
    let begun = read(&first);
    let again = page(0, &folder, "page.html", &["replan", JOB]);
    assert!(first == again && read(&again) != begun);
    // What is begun isn't packed for again.
    assert!(folder.refused(&["pack", JOB, "-o", "page.html"]).contains("is begun and its plan is in force"));
}

#[test]
fn names_stay_text() {
    let (_folder, pages) = hostile(20);
    for (page, scripts) in pages.iter().zip([1, 1, 0, 0]) {
        let text = read(page);
        assert_eq!(text.matches("<script").count(), scripts, "{}: only the page's own", page.display());
        assert!(text.contains("&lt;script&gt;alert(1)&lt;/script&gt;") && !text.contains("<b>x</b>"));
        assert!(!text.contains('\u{202e}'), "{}", page.display());
        assert_eq!(text.matches("<h1>").count(), 1, "{}", page.display());
        for outside in ["http:", "https:", "src=", "@import", "url("] {
            assert!(!text.contains(outside), "{}: {outside}", page.display());
        }
    }
}

#[test]
fn a_browser_finds_no_error_no_request_and_no_sideways_scrolling() {
    let Some(browser) = Browser::find("the pages in a browser") else { return };
    let (_folder, pages) = hostile(60);
    let (part_way, others) = (part_way(), scenarios());
    let plain = page(0, &part_way, "replan.html", &["replan", JOB]);
    let pages: Vec<PathBuf> = pages.into_iter().chain([plain]).chain(priced_and_overloaded(&others)).collect();
    browser.are_quiet_and_fit_a_narrow_screen(&pages);
}

#[test]
fn the_accessibility_checker_finds_nothing_serious() {
    let Some(browser) = Browser::find("the accessibility check of the pages") else { return };
    let Some(axe) = axe() else { return };
    let (_folder, pages) = hostile(20);
    let others = scenarios();
    for page in pages.into_iter().chain(priced_and_overloaded(&others)) {
        browser.is_accessible(&axe, &page);
    }
}

/// The customer signs one sheet; the house reads the sum on its first one, and the figures behind it.
#[test]
fn an_offer_prints_on_one_sheet_and_the_sum_of_a_quote_on_the_first() {
    let Some(browser) = Browser::find("printing an offer") else { return };
    if !is_there("pdftotext") {
        skipped("printing an offer", "there is no pdftotext here");
        return;
    }
    let jobs = ["offer-1.yaml", "offer-2.yaml"];
    let folder = Folder::of_scenarios(&["offer-1.yaml", "offer-2.yaml", "rates.yaml"]);
    let customer = page(0, &folder, "customer.html", &[&["quote"], &jobs[..], &["--customer"]].concat());
    let house = page(0, &folder, "quote.html", &[&["quote"], &jobs[..]].concat());
    for paper in ["letter", "A4"] {
        let printed = |page: &Path| Answer::to(Command::new("pdftotext").arg(browser.print(page, paper)).arg("-")).out;
        let sheets = |text: &str| text.split('\u{c}').filter(|sheet| !sheet.trim().is_empty()).count();
        let text = printed(&customer);
        assert!(sheets(&text) == 1 && text.contains("Signature") && text.contains("4,102.68"), "{paper}: {text}");
        let text = printed(&house);
        let (first, rest) = text.split_once('\u{c}').unwrap();
        for said in ["Likely cost USD 3,036.84", "Price, in USD", "4,102.68", "Sites", "Larkfield depot"] {
            assert!(first.contains(said), "{paper}: {said}");
        }
        assert!(!first.contains("Hours: ") && rest.contains("Hours: Larkfield market") && rest.contains("Assumptions"));
    }
}

#[test]
fn printed_pages_are_whole_on_letter_and_a4() {
    let Some(browser) = Browser::find("printing the pages") else { return };
    if !is_there("pdftotext") {
        skipped("printing the pages", "there is no pdftotext here");
        return;
    }
    let (_folder, [replan, pack, ..]) = hostile(30);
    for paper in ["letter", "A4"] {
        let printed = |page: &Path| Answer::to(Command::new("pdftotext").arg(browser.print(page, paper)).arg("-")).out;
        let text = printed(&replan);
        let mut cards = 0;
        for page in text.split('\u{c}') {
            cards += page.matches("Stop at").count();
            assert_eq!(page.matches("Stop at").count(), page.matches("initials").count(), "{paper}: a card is torn");
        }
        assert!(cards > 20, "{paper}: {cards} cards were printed");
        assert!(text.split('\u{c}').next().unwrap().contains("DANGER"), "{paper}: danger stands on the first page");
        let text = printed(&pack);
        for said in ["N-7", "STOP AT", "Rules of the road", "What comes back"] {
            assert!(text.contains(said), "{paper}: {said}");
        }
    }
}
