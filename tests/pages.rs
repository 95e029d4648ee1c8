//! The pages of `replan`, `pack` and `quote`: what stands on them, what is refused, and how a real browser takes them.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stderr)]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use tempfile::TempDir;

use crate::browser::{Browser, axe, hostile_job, hostile_names, is_there, skipped};

fn run(arguments: &[&str], page: Option<&Path>) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_chargesplit"));
    command.args(arguments);
    if let Some(page) = page {
        command.arg("-o").arg(page);
    }
    command.output().expect("it runs")
}

/// Runs a command that writes a page, and returns the page's path.
fn page(status: i32, folder: &Path, name: &str, arguments: &[&str]) -> PathBuf {
    let page = folder.join(name);
    let output = run(arguments, Some(&page));
    assert_eq!(output.status.code(), Some(status), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    assert!(String::from_utf8_lossy(&output.stderr).contains("wrote "), "it says so");
    page
}

fn read(page: &Path) -> String {
    fs::read_to_string(page).unwrap()
}

/// A copy of the job that is part-way through its day, with its log.
fn part_way() -> (TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    for file in ["part-way.yaml", "part-way.log.jsonl"] {
        fs::copy(Path::new("scenarios").join(file), folder.path().join(file)).unwrap();
    }
    let job = folder.path().join("part-way.yaml").to_str().unwrap().to_owned();
    (folder, job)
}

/// The four pages of jobs whose names are hostile: what is left, with a cylinder over its limit; the truck; both quotes.
fn hostile(folder: &Path, cylinders: usize) -> [PathBuf; 4] {
    let job = hostile_job(folder, cylinders);
    let job = job.to_str().unwrap();
    let priced = folder.join("priced.yaml");
    let prices = "prices: { currency: EUR, labour: 80..85..95 }\nbring: ['<script>alert(2)</script>']\n";
    fs::write(&priced, read(Path::new(job)) + prices).unwrap();
    let [script, quotes, ..] = hostile_names();
    // Over 16.4 + 1.05 x 26.2 = 43.9 lb it is in danger (49 CFR 173.304a(a)(2), R-22).
    assert_eq!(run(&["weigh", job, &quotes, "20"], None).status.code(), Some(0));
    assert_eq!(run(&["weigh", job, &script, "44.2"], None).status.code(), Some(1));
    let priced = priced.to_str().unwrap();
    [
        page(0, folder, "replan.html", &["replan", job]),
        page(0, folder, "pack.html", &["pack", priced]),
        page(0, folder, "quote.html", &["quote", priced]),
        page(0, folder, "customer.html", &["quote", priced, "--customer"]),
    ]
}

#[test]
fn what_is_left_stands_on_cards_and_danger_stands_first() {
    let (folder, job) = part_way();
    let first = read(&page(0, folder.path(), "first.html", &["replan", &job]));
    // By the scenario's comments 63.0 - 40.0 = 23.0 lb are left; T-2 has 36.4 and gets them: 59.4.
    for said in ["Left in the system: 23.0 lb of R-22.", "<strong>59.4 lb</strong>", "Begun already", "initials"] {
        assert!(first.contains(said), "{said}");
    }
    assert!(!first.split("<script>").next().unwrap().contains("DANGER"));
    assert_eq!(first.matches("<article").count(), 1, "T-1 is done");
    for file in ["part-way.yaml", "part-way.log.jsonl", "inputs <code>"] {
        assert!(first.contains(file), "{file}");
    }
    // T-1's limit is 68.4 lb; over 28.0 + 1.05 x 47.6 = 77.98 lb (49 CFR 173.304a(a)(2), R-22) it is in danger.
    assert_eq!(run(&["weigh", &job, "T-1", "80"], None).status.code(), Some(1));
    let second = read(&page(0, folder.path(), "second.html", &["replan", &job]));
    let (danger, heading) = (second.find("DANGER: T-1: it weighs 80.0 lb"), second.find("<h1>"));
    assert!(danger.is_some() && danger < heading, "danger stands before the heading");
    let hash = |page: &str| page.split("inputs <code>").nth(1).unwrap()[..12].to_owned();
    assert_ne!(hash(&first), hash(&second), "readings kept for one page don't appear on the next");
}

#[test]
fn danger_comes_first_in_words_and_in_data_too() {
    let (_folder, job) = part_way();
    assert_eq!(run(&["weigh", &job, "T-1", "80"], None).status.code(), Some(1));
    let text = run(&["replan", &job], None).stdout;
    let text = String::from_utf8_lossy(&text).replace("\n!!", "");
    let first = "!! DANGER: T-1: it weighs 80.0 lb, over 49 CFR 173.304(b), liquid-full by 131 F";
    assert!(text.starts_with(first), "{text}");
    let json: serde_json::Value = serde_json::from_slice(&run(&["replan", &job, "--json"], None).stdout).unwrap();
    assert_eq!(json["dangers"].as_array().unwrap().len(), 1);
}

#[test]
fn the_foreman_ticks_off_what_goes_on_and_what_comes_back() {
    let folder = tempfile::tempdir().unwrap();
    let arguments = ["pack", "scenarios/cold-store.yaml", "--truck", "scenarios/truck-7.yaml"];
    let page = read(&page(0, folder.path(), "pack.html", &arguments));
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
    let json: serde_json::Value =
        serde_json::from_slice(&run(&[&arguments[..], &["--json"]].concat(), None).stdout).unwrap();
    let heavy = |fill: &&serde_json::Value| fill["two_people"] == true;
    let heavy: Vec<_> =
        json["stops"][0]["fills"].as_array().unwrap().iter().filter(heavy).map(|fill| &fill["cylinder"]).collect();
    assert_eq!(heavy, ["C-106", "C-107"], "over the 70 lb that one person lifts");
}

#[test]
fn ticks_stay_when_the_page_is_loaded_again_and_belong_to_their_cylinder() {
    let Some(browser) = Browser::find("ticks on the foreman's page") else { return };
    let folder = tempfile::tempdir().unwrap();
    let file = page(0, folder.path(), "pack.html", &["pack", "scenarios/cold-store.yaml"]);
    // Without C-108 the charge doesn't fit, C-103 comes along, and every other cylinder has another place.
    let fewer = page(1, folder.path(), "fewer.html", &["pack", "scenarios/cold-store.yaml", "--without", "C-108"]);
    let (day, fewer) = (read(&file), read(&fewer));
    let key = |page: &str| page.split("data-key=\"").nth(1).unwrap()[..12].to_owned();
    assert_eq!(key(&day), key(&fewer), "the same files");
    // The page and the other one, opened again beside what was ticked.
    let quoted = |page: &str| serde_json::to_string(page).unwrap().replace("</", "<\\/");
    let script = format!(
        "const boxes = of => [...of.querySelectorAll('input')]; \
         const ticked = of => boxes(of).filter(box => box.checked).map(box => box.ariaLabel || box.labels[0].textContent.trim()); \
         for (const place of [1, 8, 2, 2]) boxes(document)[place].click(); \
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

#[test]
fn the_customer_gets_every_assumption_and_no_figure_of_the_house() {
    let folder = tempfile::tempdir().unwrap();
    let internal = read(&page(0, folder.path(), "quote.html", &["quote", "scenarios/tender.yaml"]));
    let customer = read(&page(0, folder.path(), "customer.html", &["quote", "scenarios/tender.yaml", "--customer"]));
    for said in ["EUR 1189.86", "40 CFR 82.156", "none of them is a forecast", "inputs <code>"] {
        assert!(internal.contains(said) && customer.contains(said), "{said}");
    }
    for inside in ["Internal", "scenarios/tender.yaml", "after-hours premium", "412.25", "42.50"] {
        assert!(internal.contains(inside) && !customer.contains(inside), "{inside}");
    }
    assert!(customer.contains(" tender.yaml"), "its file by name alone");
    assert!(!internal.contains("<script") && !customer.contains("<script"));
}

#[test]
fn a_page_changes_nothing_of_what_is_printed() {
    let folder = tempfile::tempdir().unwrap();
    for (name, arguments) in [
        ("pack.html", &["pack", "scenarios/over-the-limit.yaml"][..]),
        ("pack-json.html", &["pack", "scenarios/over-the-limit.yaml", "--json"]),
        ("quote.html", &["quote", "scenarios/tender.yaml"]),
        ("customer.html", &["quote", "scenarios/tender.yaml", "--customer"]),
        ("csv.html", &["quote", "scenarios/tender.yaml", "--csv"]),
    ] {
        let without = run(arguments, None);
        let with = run(arguments, Some(&folder.path().join(name)));
        assert!(!without.stdout.is_empty());
        assert_eq!((with.stdout, with.status.code()), (without.stdout, without.status.code()), "{arguments:?}");
    }
}

#[test]
fn a_page_is_never_written_over_anything_but_a_page() {
    let (folder, job) = part_way();
    let log = || read(&folder.path().join("part-way.log.jsonl"));
    let (before, yaml) = (log(), read(Path::new(&job)));
    let other = folder.path().join("notes.html");
    fs::write(&other, "<p>mine</p>").unwrap();
    fs::create_dir(folder.path().join("folder.html")).unwrap();
    let pipe = folder.path().join("pipe.html");
    assert!(Command::new("mkfifo").arg(&pipe).status().is_ok_and(|status| status.success()));
    let commands = [&["replan", &job][..], &["pack", &job], &["quote", &job], &["sheet", &job]];
    let places = [
        (Path::new(&job).to_owned(), "ends in .html"),
        (folder.path().join("page.txt"), "ends in .html"),
        (other.clone(), "isn't a page of chargesplit"),
        (folder.path().join("folder.html"), "it is a folder"),
        (pipe, "it is a device or a pipe"),
        (folder.path().join("nowhere/page.html"), "there is no such folder"),
    ];
    for arguments in commands {
        for (place, why) in &places {
            let output = run(arguments, Some(place));
            let said = String::from_utf8_lossy(&output.stderr).into_owned();
            assert_eq!(output.status.code(), Some(2), "{arguments:?} {}", place.display());
            assert!(output.stdout.is_empty() && said.contains(why), "{arguments:?}: {said}");
        }
    }
    assert_eq!(
        (log(), read(Path::new(&job)), read(&other)),
        (before, yaml, "<p>mine</p>".into()),
        "nothing was touched"
    );
    // Its own page it replaces.
    let first = page(0, folder.path(), "page.html", &["sheet", &job]);
    let again = page(0, folder.path(), "page.html", &["pack", &job]);
    assert!(first == again && read(&again).contains("Gross weights"));
}

#[test]
fn names_stay_text() {
    let folder = tempfile::tempdir().unwrap();
    for (page, scripts) in hostile(folder.path(), 20).iter().zip([1, 1, 0, 0]) {
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
    let folder = tempfile::tempdir().unwrap();
    let (part_way, job) = part_way();
    let plain = page(0, part_way.path(), "replan.html", &["replan", &job]);
    let tender = page(0, part_way.path(), "quote.html", &["quote", "scenarios/tender.yaml"]);
    let day = page(
        1,
        part_way.path(),
        "pack.html",
        &["pack", "scenarios/over-the-limit.yaml", "--truck", "scenarios/truck-small.yaml"],
    );
    for page in hostile(folder.path(), 60).into_iter().chain([plain, tender, day]) {
        let script =
            "tell([performance.getEntriesByType('resource').length, faults, document.querySelectorAll('h1').length]);";
        assert_eq!(browser.ask(&page, 1000, script), serde_json::json!([0, [], 1]), "{}", page.display());
        browser.fits_a_narrow_screen(&page);
    }
}

#[test]
fn the_accessibility_checker_finds_nothing_serious() {
    let Some(browser) = Browser::find("the accessibility check of the pages") else { return };
    let Some(axe) = axe() else { return };
    let folder = tempfile::tempdir().unwrap();
    let tender = page(0, folder.path(), "tender.html", &["quote", "scenarios/tender.yaml"]);
    let day = page(
        1,
        folder.path(),
        "day.html",
        &["pack", "scenarios/over-the-limit.yaml", "--truck", "scenarios/truck-small.yaml"],
    );
    for page in hostile(folder.path(), 20).into_iter().chain([tender, day]) {
        browser.is_accessible(&axe, &page);
    }
}

#[test]
fn printed_pages_are_whole_on_letter_and_a4() {
    let Some(browser) = Browser::find("printing the pages") else { return };
    if !is_there("pdftotext") {
        skipped("printing the pages", "there is no pdftotext here");
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let [replan, pack, ..] = hostile(folder.path(), 30);
    for paper in ["letter", "A4"] {
        let printed = |page: &Path| {
            let output = Command::new("pdftotext").arg(browser.print(page, paper)).arg("-").output().unwrap();
            String::from_utf8_lossy(&output.stdout).into_owned()
        };
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
