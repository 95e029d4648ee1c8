//! What a quote is made of: whose a cost is, what the columns stand for, whose cylinders come first, working days, and that
//! planning sites together never makes them dearer than quotes of their own.

use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::folder::{self, Folder};

fn run(arguments: &[&str]) -> (i32, String, String) {
    let answer = folder::run(arguments);
    (answer.status, answer.out, answer.err)
}

/// A folder with these files.
fn folder(files: &[(&str, &str)]) -> Folder {
    Folder::of(files)
}

fn paths(folder: &Path, files: &[&str]) -> Vec<String> {
    files.iter().map(|file| folder.join(file).to_str().unwrap().to_owned()).collect()
}

/// The quote of these files of a folder, as data.
fn quote(folder: &Folder, files: &[&str], options: &[&str]) -> Value {
    let paths = paths(folder.path(), files);
    let mut arguments = vec!["quote", "--json"];
    arguments.extend(paths.iter().map(String::as_str));
    arguments.extend(options);
    let (status, text, error) = run(&arguments);
    assert_eq!(status, 0, "{text}{error}");
    serde_json::from_str(&text).unwrap()
}

/// The likely amounts of the cost lines of this name, by job.
fn likely(quote: &Value, what: &str) -> Vec<(String, String)> {
    let lines = quote["cost"]["lines"].as_array().unwrap().iter();
    let of = |line: &Value| (line["job"].as_str().unwrap().into(), line["amount"]["likely"].as_str().unwrap().into());
    lines.filter(|line| line["what"] == what).map(of).collect()
}

fn three(amount: &Value) -> [&str; 3] {
    ["low", "likely", "high"].map(|figure| amount[figure].as_str().unwrap())
}

fn piece<'q>(quote: &'q Value, what: &str) -> [&'q str; 3] {
    let pieces = quote["hours"][0]["pieces"].as_array().unwrap();
    three(&pieces.iter().find(|piece| piece["what"] == what).unwrap()["minutes"])
}

/// Each file states the kinds that it can hire; which file it is doesn't say who uses them.
#[test]
fn hire_is_the_cost_of_the_site_that_fills_the_cylinder() {
    let site = |name: &str, charge: &str, prices: &str, stock: &str| {
        format!(
            "job: {name}\ndate: 2026-12-01\nunits: lb\nsite: {{ access: level }}\nsystems: [{{ name: Rack, {charge} \
             }}]\nprices: {{ currency: USD, {prices} }}\n{stock}"
        )
    };
    let stock = "stock: [{ name: fifty, tare: 28, water_capacity: 47.6, mark: DOT-4BA400, hire: 19.00 per day }]\n";
    let folder = folder(&[
        ("small.yaml", &site("Small", "refrigerant: R-22, nameplate: 30", "hire_days: 4", "")),
        ("large.yaml", &site("Large", "refrigerant: R-134a, nameplate: 300", "hire_days: 2", stock)),
    ]);
    let whole = quote(&folder, &["small.yaml", "large.yaml"], &[]);
    // A fifty takes 0.8 x 1.08211 x 47.6 = 41.2 lb of R-134a: eight for the 300, and one for the 30 of R-22.
    let hire = likely(&whole, "hire of fifty");
    assert_eq!(hire, [("Small".to_owned(), "76.00".to_owned()), ("Large".to_owned(), "304.00".to_owned())]);
    let filled = |site: usize| whole["sites"][site]["cylinders"].as_u64().unwrap();
    assert_eq!((filled(0), filled(1)), (1, 8));
}

/// A cylinder that two sites fill is hired once, for both, and each has its part by its hours.
#[test]
fn a_hired_cylinder_that_several_sites_fill_is_paid_by_their_hours() {
    let site = |name: &str, travel: u32, stock: &str| {
        format!(
            "job: {name}\ndate: 2026-12-01\nunits: lb\nsite: {{ access: level }}\nsystems: [{{ name: Rack, refrigerant: R-134a, \
             nameplate: 15 }}]\nlabour: {{ travel: {travel} min }}\nprices: {{ currency: USD, hire_days: 7 }}\n{stock}"
        )
    };
    let stock =
        "stock: [{ name: fifty, tare: 28, water_capacity: 47.6, mark: DOT-4BA400, count: 1, hire: 10.01 per week }]\n";
    let folder = folder(&[("near.yaml", &site("Near", 10, stock)), ("far.yaml", &site("Far", 200, ""))]);
    let whole = quote(&folder, &["near.yaml", "far.yaml"], &[]);
    let elapsed = |site: usize| three(&whole["hours"][site]["elapsed_minutes"])[1].parse::<f64>().unwrap();
    let cents = |text: &str| text.parse::<f64>().unwrap() * 100.0;
    let hire = likely(&whole, "hire of fifty");
    assert_eq!(hire.len(), 2);
    let near = 1001.0 * elapsed(0) / (elapsed(0) + elapsed(1));
    assert!((cents(&hire[0].1) - near).abs() <= 1.0 && cents(&hire[0].1) + cents(&hire[1].1) == 1001.0, "{hire:?}");
    let lines = whole["cost"]["lines"].as_array().unwrap().iter().filter(|line| line["what"] == "hire of fifty");
    assert!(lines.clone().all(|line| line["basis"].as_str().unwrap().ends_with("; by hours among Near, Far")));
}

/// The same kind in several files is one stock of so many, not so many in each.
#[test]
fn a_kind_in_several_files_counts_once() {
    let site = |name: &str| {
        format!(
            "job: {name}\ndate: 2026-12-01\nunits: lb\nsystems: [{{ name: Rack, refrigerant: R-134a, nameplate: 450 }}]\nstock: \
             [{{ name: fifty, tare: 28, water_capacity: 47.6, mark: DOT-4BA400, count: 12 }}]\n"
        )
    };
    let (one, two, three) = (site("One"), site("Two"), site("Three"));
    let folder = folder(&[("1.yaml", &one), ("2.yaml", &two), ("3.yaml", &three)]);
    let paths = paths(folder.path(), &["1.yaml", "2.yaml", "3.yaml"]);
    let (status, text, _) = run(&["quote", "--json", &paths[0], &paths[1], &paths[2]]);
    let whole: Value = serde_json::from_str(&text).unwrap();
    // Eleven take 450 lb (11 x 41.2 = 453.2), so three sites would take 33.
    assert_eq!((status, whole["cylinders"].as_array().unwrap().len()), (1, 12), "{text}");
}

#[test]
fn each_column_has_its_own_charge() {
    let folder = folder(&[(
        "job.yaml",
        "job: Depot\ndate: 2026-12-01\nunits: lb\nsite: { access: level }\nsystems: [{ name: Rack, refrigerant: R-134a, charge: \
         100..400 lb, basis: guess, allowance: 10 % }]\nprices: { currency: USD, reclaim: [{ refrigerant: R-134a, credit: 3 per \
         lb }] }\n",
    )]);
    let whole = quote(&folder, &["job.yaml"], &[]);
    let credit = &whole["cost"]["lines"].as_array().unwrap()[0];
    assert_eq!(credit["what"], "credit for R-134a");
    // 100, 250 and 440 lb at 3.
    assert_eq!(three(&credit["amount"]), ["-300.00", "-750.00", "-1320.00"]);
    assert_eq!((&credit["credit"], three(&whole["sites"][0]["cost"])), (&true.into(), ["0.00"; 3]));
    // Liquid, minutes up: 100 x 0.95 / 4.0, 250 x 0.9 / 3.5, 440 x 0.85 / 3.0.
    assert_eq!(piece(&whole, "liquid recovery"), ["24", "65", "125"]);
}

/// Two own cylinders hold it, and so would an own and a hired one, 0.1 lb lighter.
#[test]
fn nothing_is_hired_for_a_lighter_lift_alone() {
    let job = "job: Depot\ndate: 2026-12-01\nunits: lb\nsite: { access: level }\nsystems: [{ name: Rack, refrigerant: R-134a, \
               nameplate: 80 }]\ncylinders:\n  - { id: U-1, tare: 28.0, water_capacity: 47.6, gross: 28.0, holds: evacuated, mark: \
               DOT-4BA400, tested: 2024-06 }\n  - { id: U-2, tare: 28.2, water_capacity: 47.6, gross: 28.2, holds: evacuated, mark: \
               DOT-4BA400, tested: 2024-06 }\nprices: { currency: USD }\nstock: [{ name: fifty, tare: 28, water_capacity: 47.6, mark: \
               DOT-4BA400, hire: 142 per week }]\n";
    let folder = folder(&[("job.yaml", job), ("more.yaml", &job.replace("nameplate: 80", "nameplate: 83"))]);
    let from = |file: &str, options: &[&str]| -> Vec<String> {
        let whole = quote(&folder, &[file], options);
        whole["cylinders"].as_array().unwrap().iter().map(|one| one["from"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(from("job.yaml", &[]), ["yard", "yard"]);
    assert_eq!(from("job.yaml", &["--cheapest"]), ["yard", "yard"]);
    assert_eq!(from("job.yaml", &["--from", "stock"]), ["stock", "stock"]);
    // 83 lb don't go into two.
    assert_eq!(
        from("more.yaml", &[]),
        ["yard", "stock", "yard"],
        "U-2 is heavier and has most to spare: it comes last"
    );
}

/// A dear kind that is a little lighter, and a cheap one: the number is the same.
#[test]
fn of_as_many_cylinders_the_cheaper_kind_is_hired() {
    let folder = folder(&[(
        "job.yaml",
        "job: Depot\ndate: 2026-12-01\nunits: lb\nsite: { access: level }\nsystems: [{ name: Rack, refrigerant: R-134a, nameplate: \
         80 }]\nprices: { currency: USD }\nstock:\n  - { name: light, tare: 27, water_capacity: 47.6, mark: DOT-4BA400, hire: 90 per \
         week }\n  - { name: plain, tare: 28, water_capacity: 47.6, mark: DOT-4BA400, hire: 20 per week }\n",
    )]);
    for options in [&[][..], &["--cheapest"]] {
        assert_eq!(
            likely(&quote(&folder, &["job.yaml"], options), "hire of plain"),
            [("Depot".into(), "40.00".into())]
        );
    }
}

#[test]
fn a_hoist_is_charged_where_one_is_needed_and_nothing_is_carried_by_hand_then() {
    let job = |site: &str, hoist: &str| {
        format!(
            "job: Depot\ndate: 2026-12-01\nunits: lb\nsite: {{ one_person: 50 lb{site} }}\nsystems: [{{ name: Rack, refrigerant: \
             R-134a, nameplate: 80 }}]\nlabour: {{ crew: 1, carry: 3 min }}\nprices: {{ currency: USD{hoist} }}\nstock: [{{ name: \
             fifty, tare: 28, water_capacity: 47.6, mark: DOT-4BA400, hire: 1 per day }}]\n"
        )
    };
    // Two cylinders go out at 68 lb, over one person's 50 and under the 100 of stairs; empty they are 28 lb.
    for (site, by_hoist, carried, helped) in [
        ("", 0, 12, 6),
        (", access: level", 0, 12, 6),
        (", access: stairs", 0, 12, 6),
        // Up on a line, which takes hands; down by the hoist.
        (", access: ladder", 2, 6, 0),
        (", access: hoist", 4, 0, 0),
    ] {
        let folder = folder(&[("with.yaml", &job(site, ", hoist: 250")), ("without.yaml", &job(site, ""))]);
        let whole = quote(&folder, &["with.yaml"], &[]);
        let hoist = likely(&whole, "hoist");
        assert_eq!(hoist.len(), usize::from(by_hoist > 0), "{site}");
        let minutes = |quote: &Value, what| piece(quote, what)[1].parse::<i64>().unwrap();
        assert_eq!(minutes(&whole, "carrying up") + minutes(&whole, "carrying down"), carried, "{site}");
        let more = |quote: &Value| {
            let figure = |key: &str| three(&quote["hours"][0][key])[1].parse::<i64>().unwrap();
            figure("crew_minutes") - figure("elapsed_minutes")
        };
        assert_eq!(more(&whole), helped, "{site}");
        // Without a price it is carried, and where it takes a hoist that isn't priced.
        let whole = quote(&folder, &["without.yaml"], &[]);
        assert_eq!(minutes(&whole, "carrying up") + minutes(&whole, "carrying down"), 12, "{site}");
        let unpriced = whole["cost"]["unpriced"].as_array().unwrap();
        assert_eq!(unpriced.contains(&"hoist".into()), by_hoist > 0, "{site}: {unpriced:?}");
    }
}

/// 900 lb at 1 lb a minute: nobody does that between one morning and its evening.
#[test]
fn what_no_day_holds_takes_more_days_each_with_its_travel_and_hire_goes_on_as_long() {
    let job = |labour: &str, overtime: &str| {
        format!(
            "job: Depot\ndate: 2026-12-01\nunits: lb\nsite: {{ access: hoist }}\nsystems: [{{ name: Rack, refrigerant: R-134a, \
             nameplate: 900 }}]\nlabour: {{ {labour}liquid_rate: 1 lb/min, vapour_rate: 1 lb/min, derating: 0 %, vapour_share: 10 \
             %, travel: 60 min, set_up: 30 min, hook_up: 15 min, pull_down: 20 min, leak_check: 15 min, label: 5 min, \
             cylinder_change: 5 min, paperwork: 20 min }}\nprices: {{ currency: USD, labour: 90, hoist: 0, hire_days: 1{overtime} \
             }}\nstock: [{{ name: large, tare: 355, water_capacity: 990, mark: DOT-4BW300, hire: 40 per day }}]\n"
        )
    };
    let folder = folder(&[
        ("usual.yaml", &job("", ", overtime: { after: 8 h, rate: 150 % }")),
        ("long.yaml", &job("day: 10 h, ", ", overtime: { after: 8 h, rate: 150 % }")),
        ("short.yaml", &job("day: 2 h, ", "")),
    ]);
    // Two larges take 1,713 lb. On site 15 + 900 + 20 + 15, 2 x 5 + 2 x 5 and 20: 990 min. A day of 480 has 390 for
    // it, so 3 days: 990 + 3 x 90 = 1,260; of the last 300.
    let whole = quote(&folder, &["usual.yaml"], &[]);
    let hours = &whole["hours"][0];
    assert_eq!((three(&hours["days"]), three(&hours["elapsed_minutes"])), (["3"; 3], ["1260"; 3]));
    assert_eq!(
        (piece(&whole, "travel there and back"), piece(&whole, "set-up and clearing up")),
        (["180"; 3], ["90"; 3])
    );
    assert_eq!(likely(&whole, "overtime"), [("Depot".into(), "0.00".into())]);
    // Hired for a day by the file, and needed for three: 2 x 3 x 40.
    assert_eq!(likely(&whole, "hire of large"), [("Depot".into(), "240.00".into())]);
    // Ten hours have 510 min: two days, 990 + 180 = 1,170: 2 h of overtime on the first, 1 h 30 min on the second.
    let whole = quote(&folder, &["long.yaml"], &[]);
    assert_eq!(three(&whole["hours"][0]["days"]), ["2"; 3]);
    assert_eq!(likely(&whole, "overtime"), [("Depot".into(), "157.50".into())]);
    // A day with less than an hour beside travel and set-up can't be meant.
    let path = paths(folder.path(), &["short.yaml"]).remove(0);
    let (status, _, error) = run(&["quote", &path]);
    assert!(status == 2 && error.contains("day: found `2 h`, expected a day that leaves an hour"), "{status} {error}");
}

#[test]
fn what_is_over_a_limit_of_the_road_on_one_trip_is_said() {
    let job = |nameplate: u32| {
        format!(
            "job: Depot\ndate: 2026-12-01\nunits: lb\nsite: {{ access: level }}\nsystems: [{{ name: Rack, refrigerant: R-134a, \
             nameplate: {nameplate} }}]\nlabour: {{ day: 24 h }}\nstock: [{{ name: fifty, tare: 28, water_capacity: 47.6, mark: \
             DOT-4BA400 }}]\n"
        )
    };
    let names = ["1.yaml", "2.yaml", "3.yaml", "4.yaml"];
    let jobs = [246, 260, 580, 581].map(job);
    let folder = folder(&[0, 1, 2, 3].map(|index| (names[index], jobs[index].as_str())));
    for (file, gross, codes) in [
        // Six fifties and the charge: 168 + 246 = 414 lb; seven: 196 + 260 = 456; fifteen: 420 + 580 = 1,000, and a pound more.
        ("1.yaml", 414.0, &[][..]),
        ("2.yaml", 456.0, &["whole-vehicle"]),
        ("3.yaml", 1_000.0, &["whole-vehicle"]),
        ("4.yaml", 1_001.0, &["whole-vehicle", "placards"]),
    ] {
        let whole = quote(&folder, &[file], &[]);
        let site = &whole["sites"][0];
        let said: Vec<&str> =
            site["road"].as_array().unwrap().iter().map(|road| road["code"].as_str().unwrap()).collect();
        assert_eq!(
            (three(&site["days"])[1], site["trip"].as_f64().unwrap(), said.as_slice()),
            ("1", gross, codes),
            "{file}"
        );
    }
    let (_, text, _) = run(&["quote", &paths(folder.path(), &["3.yaml"])[0]]);
    assert!(text.contains("1000.0 lb of filled cylinders leave in one trip, over 440 lb (200 kg)"), "{text}");
}

/// A job with everything that the customer's page asks for, but for what is taken out again.
fn offered() -> String {
    let rates = fs::read_to_string("scenarios/rates.yaml").unwrap();
    let rest = rates.split_once("units: lb\n").unwrap().1;
    format!(
        "job: Larkfield\ndate: 2026-12-16\nunits: lb\nsite: {{ access: level }}\nsystems: [{{ name: Rack A, refrigerant: R-134a, \
         nameplate: 60, allowance: 10 % }}]\n{}",
        rest.replacen("  margin: 18 %\n", "  margin: 18 %\n  number: N-1\n  to: { name: Larkfield Foods }\n", 1)
            .replacen("labour:\n", "labour:\n  travel: 60 min\n", 1)
    )
}

#[test]
fn with_anything_not_priced_or_not_stated_there_is_no_page_for_the_customer() {
    let whole = offered();
    let made = |text: &str, options: &[&str]| {
        let folder = folder(&[("job.yaml", text)]);
        let page = folder.path().join("page.html");
        let job = paths(folder.path(), &["job.yaml"]).remove(0);
        let (status, out, error) =
            run(&[&["quote", &job, "--customer", "-o", page.to_str().unwrap()], options].concat());
        (status, out, error, fs::read_to_string(page).ok())
    };
    let (status, text, _, page) = made(&whole, &[]);
    assert!(status == 0 && text.contains("Offer N-1") && !text.contains("DRAFT"), "{text}");
    assert!(!page.unwrap().contains("DRAFT"));
    for (line, lacks) in [
        ("  freight: 40\n", "a price for freight"),
        ("  labour: 80..85..95\n", "a price for labour of Larkfield"),
        ("  number: N-1\n", "`number` under `offer`"),
        ("  valid: 30 days\n", "`valid` under `offer`"),
        ("  tax: 8.25 %\n", "`tax` under `offer`"),
        ("    payment: 30 days net, by transfer\n", "`terms.payment` under `offer`"),
        ("valve: 180, ", "`extra.valve` under `offer`"),
        ("hire: 18.00 per week, ", "a price for 2 x hire of nominal 50"),
    ] {
        assert!(whole.contains(line), "{line}");
        let text = whole.replacen(line, "", 1);
        let (status, out, error, page) = made(&text, &[]);
        assert!(
            status == 1 && out.is_empty() && page.is_none() && error.contains(lacks),
            "{lacks}: {status} {out} {error}"
        );
        assert_eq!(made(&text, &["--json"]).0, 1, "{lacks}");
        let (status, out, error, page) = made(&text, &["--draft"]);
        assert!(status == 0 && error.contains(lacks) && !out.contains("NOT PRICED"), "{lacks}: {status} {out} {error}");
        assert!(out.starts_with("DRAFT") && page.unwrap().contains("class=\"across\""), "{lacks}");
    }
}

/// The customer's page as data, of exactly these fields.
#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct CustomersPage {
    format: String,
    draft: bool,
    from: Vec<String>,
    to: Vec<String>,
    number: String,
    date: String,
    valid_to: String,
    work: String,
    kind: String,
    currency: String,
    sites: Vec<SiteLine>,
    subtotal: Amount,
    tax_rate: String,
    tax: Amount,
    total: Amount,
    settles: Option<String>,
    included: Vec<String>,
    extra: Vec<ExtraLine>,
    not_included: Vec<String>,
    from_you: Vec<String>,
    terms: Vec<String>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Amount {
    from: String,
    to: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct SiteLine {
    job: String,
    address: Option<String>,
    price: Amount,
    systems: Vec<SystemLine>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct SystemLine {
    system: String,
    refrigerant: String,
    up_to: String,
    price: Amount,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct ExtraLine {
    what: String,
    price: Option<String>,
    per: String,
}

fn customers(text: &str) -> CustomersPage {
    let folder = folder(&[("job.yaml", text)]);
    let job = paths(folder.path(), &["job.yaml"]).remove(0);
    let (status, text, error) = run(&["quote", &job, "--customer", "--json"]);
    assert_eq!(status, 0, "{error}");
    serde_json::from_str(&text).unwrap()
}

#[test]
fn a_price_is_firm_up_to_a_weight_or_a_range_or_a_rate() {
    let whole = offered().replacen("  valid", "  date: 2026-11-20\n  valid", 1);
    let firm = customers(&whole);
    assert_eq!((firm.format.as_str(), firm.kind.as_str(), firm.draft), ("chargesplit-customer/1", "firm", false));
    assert_eq!(
        (firm.date.as_str(), firm.valid_to.as_str(), firm.currency.as_str()),
        ("2026-11-20", "2026-12-20", "USD")
    );
    assert_eq!(
        (firm.from.len(), firm.to.as_slice(), firm.number.as_str()),
        (3, &["Larkfield Foods".to_owned()][..], "N-1")
    );
    let rack = &firm.sites[0].systems[0];
    assert_eq!((rack.system.as_str(), rack.refrigerant.as_str(), rack.up_to.as_str()), ("Rack A", "R-134a", "60.0 lb"));
    assert_eq!((firm.sites[0].job.as_str(), &firm.sites[0].address), ("Larkfield", &None));
    assert!(
        rack.price.from == rack.price.to
            && rack.price.from == firm.sites[0].price.to
            && firm.subtotal.from == firm.subtotal.to
    );
    assert!(firm.settles.unwrap().contains("each further lb") && firm.work.contains("1 system at Larkfield"));
    assert_eq!((firm.tax_rate.as_str(), firm.extra.len(), firm.terms.len()), ("8.25 %", 5, 3));
    let over = &firm.extra[0];
    assert_eq!(
        (over.what.as_str(), over.price.as_deref(), over.per.as_str()),
        ("refrigerant over what is included", Some("9.50"), "lb")
    );
    assert!(firm.included.len() > 4 && firm.not_included.len() == 4 && firm.from_you.len() == 4);
    let number = |text: &str| text.parse::<f64>().unwrap();
    assert!(
        (number(&firm.subtotal.to) * 1.0825 - number(&firm.total.to)).abs() < 0.006 && firm.tax.from == firm.tax.to
    );
    // At the high figures it is dearer, and up to what is planned for.
    let high = customers(&whole.replacen("at: likely", "at: high", 1));
    assert!(high.sites[0].systems[0].up_to == "66.0 lb" && number(&high.total.to) > number(&firm.total.to));
    let range = customers(&whole.replacen("price: firm", "price: range", 1));
    assert!(number(&range.total.from) < number(&firm.total.to) && range.total.to == high.total.to);
    assert!(range.settles.unwrap().contains("What settles it"));
    // 85 an hour, 5 % of contingency: 89.25 is 82 % of 108.85 (108.8414…, up to the cent).
    let time = customers(&whole.replacen("price: firm", "price: time", 1));
    assert!(
        time.settles.as_ref().unwrap().contains("USD 108.85 for a person and hour, 2 people"),
        "{:?}",
        time.settles
    );
    assert!(number(&time.subtotal.to) < number(&firm.subtotal.to));
}

/// What one job's file says stands over the rates that it names; what neither says is missing once.
#[test]
fn rates_are_shared_and_a_jobs_own_line_stands_over_them() {
    let rates = "units: lb\nlabour: { crew: 2, travel: 60 min }\nprices: { currency: USD, labour: 80, freight: 40, reclaim: [{ \
                 refrigerant: R-22, fee: 2 per lb }, { refrigerant: R-134a, fee: 1 per lb }] }\nstock: [{ name: fifty, tare: 28, \
                 water_capacity: 47.6, mark: DOT-4BA400, count: 3, hire: 10 per week }]\noffer: { margin: 10 %, tax: 5 % }\n";
    let job = |name: &str, more: &str| {
        format!(
            "job: {name}\ndate: 2026-12-01\nunits: lb\nrates: rates.yaml\nsite: {{ access: level }}\nsystems: [{{ name: Rack, \
             refrigerant: R-134a, nameplate: 40 }}]\n{more}"
        )
    };
    let own = "labour: { crew: 1 }\nprices: { currency: USD, freight: 55, reclaim: [{ refrigerant: R-134a, fee: 3 per lb }] }\noffer: { margin: 20 % }\n";
    let folder = folder(&[
        ("rates.yaml", rates),
        ("plain.yaml", &job("Plain", "")),
        ("own.yaml", &job("Own", own)),
        ("third.yaml", &job("Third", "")),
        ("fourth.yaml", &job("Fourth", "")),
        ("euro.yaml", &job("Euro", "prices: { currency: EUR, freight: 20 }\n")),
        ("kind.yaml", &job("Kind", "stock: [{ name: Fifty, tare: 29, water_capacity: 47.6, mark: DOT-4BA400 }]\n")),
        ("lost.yaml", &job("Lost", "").replace("rates.yaml", "nowhere.yaml")),
    ]);
    let plain = quote(&folder, &["plain.yaml"], &[]);
    let freight = |quote: &Value| likely(quote, "freight").remove(0).1;
    let people = |quote: &Value| quote["hours"][0]["people"].as_u64().unwrap();
    assert_eq!((freight(&plain), people(&plain), &plain["price"]["margin"]), ("40.00".into(), 2, &"10 %".into()));
    assert_eq!(likely(&plain, "reclaim of R-134a")[0].1, "40.00");
    let own = quote(&folder, &["own.yaml"], &[]);
    assert_eq!((freight(&own), people(&own), &own["price"]["margin"]), ("55.00".into(), 1, &"20 %".into()));
    assert_eq!(likely(&own, "reclaim of R-134a")[0].1, "120.00");
    // Three fifties for everybody, one for each of three sites.
    let all = ["plain.yaml", "third.yaml", "fourth.yaml"];
    assert_eq!(quote(&folder, &all, &[])["cylinders"].as_array().unwrap().len(), 3);
    for (files, status, said) in [
        (&["plain.yaml", "own.yaml"][..], 2, "state different things under `offer`"),
        (&["euro.yaml"], 2, "the amounts here are in EUR, and those of the file of"),
        (&["plain.yaml", "kind.yaml"], 2, "is stated otherwise in"),
        (&["lost.yaml"], 2, "rates: "),
    ] {
        let paths = paths(folder.path(), files);
        let arguments: Vec<&str> = std::iter::once("quote").chain(paths.iter().map(String::as_str)).collect();
        let (ended, _, error) = run(&arguments);
        assert!(ended == status && error.contains(said), "{files:?}: {ended} {error}");
    }
}

/// One person on two floors of stairs: two full cylinders take a helper, three don't.
#[test]
fn a_tradeoff_shows_hours_and_cost_and_ends_where_one_person_carries_everything() {
    let own: String = (1..=8)
        .map(|index| {
            format!(
                "  - {{ id: U-{index}, tare: 17.0, water_capacity: 26.2, gross: 17.0, holds: evacuated, mark: DOT-4BA400, tested: \
                 2024-06 }}\n"
            )
        })
        .collect();
    let job = format!(
        "job: Loft\ndate: 2026-12-01\nunits: lb\nsite: {{ access: level, one_person: 36 lb }}\nsystems: [{{ name: Rack, \
         refrigerant: R-134a, nameplate: 44 }}]\nlabour: {{ crew: 1, floors: 5, carry: 8 min, cylinder_change: 5 min, label: 5 min \
         }}\nprices: {{ currency: USD, labour: 90, machine: 0, freight: 0, oil_disposal: 0, reclaim: [{{ refrigerant: R-134a, fee: 0 \
         per lb }}] }}\ncylinders:\n{own}"
    );
    let folder = folder(&[("job.yaml", &job), ("unstated.yaml", &job.replace(", one_person: 36 lb", ""))]);
    let json = |file: &str| -> Value {
        let (status, text, _) = run(&["tradeoff", "--json", &paths(folder.path(), &[file])[0]]);
        assert_eq!(status, 0);
        serde_json::from_str(&text).unwrap()
    };
    let figures = |report: &Value| -> Vec<(u64, u64, i64, i64, String)> {
        let number = |text: &Value| text.as_str().unwrap().parse().unwrap();
        let points = report["points"].as_array().unwrap().iter();
        points
            .map(|point| {
                let (count, heavy) = (point["cylinders"].as_u64().unwrap(), point["heavy_ways"].as_u64().unwrap());
                let minutes = (number(&point["elapsed_minutes"]), number(&point["crew_minutes"]));
                (count, heavy, minutes.0, minutes.1, point["cost"].as_str().unwrap().to_owned())
            })
            .collect()
    };
    // Each takes 22.6 lb: two at 39 lb, over 36; three at 31.7. A cylinder more is 5 + 5 + 2 x 40 = 90 min of one person;
    // two heavy ways took a helper for 80.
    let found = figures(&json("job.yaml"));
    assert_eq!(found.iter().map(|one| (one.0, one.1)).collect::<Vec<_>>(), [(2, 2), (3, 0)]);
    assert_eq!((found[1].2 - found[0].2, found[1].3 - found[0].3), (90, 10));
    // By the unstated 50 lb nothing is heavy, and it isn't taken for the end.
    let unstated = json("unstated.yaml");
    assert!(figures(&unstated).len() > 2 && unstated["ends_light"] == false);
    assert_eq!(json("job.yaml")["ends_light"], true);
}
