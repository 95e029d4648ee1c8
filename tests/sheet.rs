//! The page for the clipboard, in a real browser where there is one.
//!
//! The browser is Debian's `chromium`; `CHARGESPLIT_AXE` names the script of the accessibility checker axe-core, and
//! `pdftotext` reads what was printed. What isn't there is said to be skipped.

use std::fs;
use std::path::PathBuf;
use std::process::Command;

use crate::browser::{Browser, HOSTILE_JOB, axe, hostile_job, is_there, skipped};
use crate::folder::{Answer, Folder};

/// The page of a job of this folder.
fn sheet(folder: &Folder, job: &str) -> PathBuf {
    let answer = folder.run(["sheet", job, "-o", "plan.html"]).is(0);
    assert_eq!(answer.out, "", "the page goes into its file");
    folder.at("plan.html")
}

fn cold_store() -> Folder {
    Folder::of_scenarios(&["cold-store.yaml", "van-3.yaml"])
}

fn hostile(cylinders: usize) -> Folder {
    Folder::of(&[(HOSTILE_JOB, &hostile_job(cylinders))])
}

#[test]
fn the_page_stands_alone_and_is_complete_without_script() {
    let page = fs::read_to_string(sheet(&cold_store(), "cold-store.yaml")).unwrap();
    for outside in ["http:", "https:", "src=", "@import", "url("] {
        assert!(!page.contains(outside), "{outside}");
    }
    let without = page.split("<script>").next().unwrap();
    // The stop weights that the scenario's comments work out by hand.
    for stop in ["63.7 lb", "64.1 lb", "147.1 lb", "58.9 lb", "34.4 lb"] {
        assert!(without.contains(&format!("<strong>{stop}</strong>")), "{stop}");
    }
    for said in ["Stop at", "never past", "requalified", "Local codes", "inputs <code>"] {
        assert!(without.to_lowercase().contains(&said.to_lowercase()), "{said}");
    }
}

#[test]
fn names_stay_text() {
    let page = fs::read_to_string(sheet(&hostile(20), HOSTILE_JOB)).unwrap();
    assert_eq!(page.matches("<script>").count(), 1, "only the page's own");
    assert!(page.contains("&lt;script&gt;alert(1)&lt;/script&gt;") && !page.contains("<b>x</b>"));
}

/// What a probe uses of the page: typing into a card, keeping it, what the cards answer and have kept.
const HANDS: &str = "const card = at => document.querySelector('.card[data-cylinder=\"' + at + '\"]'); \
    const type = (at, text, more = {}) => { for (const [name, value] of Object.entries({ reading: text, ...more })) { \
      const field = card(at).querySelector('.' + name); field.value = value; field.dispatchEvent(new Event('input')); } }; \
    const keep = (at, text, more) => { type(at, text, more); card(at).querySelector('button').click(); }; \
    const answer = at => card(at).querySelector('.answer').textContent; \
    const kept = at => [...card(at).querySelectorAll('.kept li')].map(line => line.textContent); \
    const lines = () => { document.querySelector('.export button').click(); \
      return document.querySelector('.export textarea').value.split('\\n').filter(line => line); };";

#[test]
fn a_reading_over_the_fill_or_a_rule_is_answered_and_kept() {
    let Some(browser) = Browser::find("readings typed into the sheet") else { return };
    let folder = cold_store();
    let page = sheet(&folder, "cold-store.yaml");
    // Typed and kept, then the page is loaded again: the same browser, because an ended one may not have kept anything yet.
    let script = format!(
        "{HANDS} const ids = ['C-101', 'C-102', 'C-106', 'C-107']; const answers = () => ids.map(answer); \
         const over = () => [...document.querySelectorAll('.card.over')].map(c => c.dataset.cylinder); \
         if (!window.name) {{ ['63.7', '64.2', '154.6', '78.0'].forEach((text, at) => keep(ids[at], text)); \
         window.name = JSON.stringify([answers(), over(), performance.getEntriesByType('resource').length, faults]); \
         location.reload(); }} else {{ tell([JSON.parse(window.name), [answers(), over()], lines()]); }}"
    );
    let told = browser.ask(&page, 1000, &script);
    let (first, again) = (&told[0], &told[1]);
    // C-101 stops at 63.7 lb from a tare of 27.9; C-102's limit is 64.2, its stop 64.1; C-106's limit is 154.5 lb. The
    // fourth, C-107, is far from its stop of 147.1 lb.
    assert_eq!(first[0][0], "0.0 lb to go. Net 35.8 lb.");
    assert_eq!(first[0][1], "0.1 lb over the stop weight: change cylinders. Net 36.0 lb.");
    let over = "OVER THE FILL: 0.1 lb over the limit. Shut the valve: nothing more goes in. Keep it out of the sun. Take at \
                least 0.1 lb out, with the machine, on the scale. Net 93.1 lb.";
    assert_eq!(first[0][2], over);
    assert_eq!(first[1], serde_json::json!(["C-106"]));
    assert_eq!((&first[2], &first[3]), (&serde_json::json!(0), &serde_json::json!([])), "no request, no error");
    assert_eq!((&again[0], &again[1]), (&first[0], &first[1]), "loaded again it still shows them");
    assert_eq!(told[2].as_array().unwrap().len(), 4);
    assert!(told[2][2].as_str().unwrap().starts_with(r#"{"cylinder":"C-106","gross":"154.6 lb","at":"20"#), "{told}");
}

#[test]
fn what_cant_be_is_refused_on_the_page() {
    let Some(browser) = Browser::find("what the sheet refuses") else { return };
    let folder = cold_store();
    let page = sheet(&folder, "cold-store.yaml");
    // C-101: tare 27.9 lb, scale to 0.1 lb; limit 63.8 lb, so that all of it with liquid at 130 F would be
    // 27.9 + 35.9 / 0.8 = 72.8 lb and with cold liquid 27.9 + 1.4 x 44.9 = 90.8 lb.
    let script = format!(
        "{HANDS} const said = []; for (const text of ['66.8kg', '66.8 lb', '66,8', '30.4 kg', '-3', '1e2', 'full', '', '5', \
         '27.7', '91.0', '642']) {{ keep('C-101', text); said.push(answer('C-101')); }} \
         for (const time of ['25:00', 'noon', '23:59:59', '9']) {{ keep('C-101', '40', {{ time }}); said.push(answer('C-101')); }} \
         type('C-101', '80.0'); said.push(answer('C-101')); \
         tell([said, kept('C-101'), lines(), localStorage.length]);"
    );
    let told = browser.ask(&page, 1000, &script);
    let said: Vec<&str> = told[0].as_array().unwrap().iter().map(|one| one.as_str().unwrap()).collect();
    assert!(said[..8].iter().all(|one| *one == "Only the number, in lb. Nothing was kept."), "{said:?}");
    assert!(said[8..10].iter().all(|one| one.starts_with("That is under the tare of 27.9 lb")), "{said:?}");
    assert!(
        said[10..12].iter().all(|one| one.starts_with("That can't be: full of cold liquid it weighs 90.")),
        "{said:?}"
    );
    assert!(said[12..16].iter().all(|one| one.starts_with("The time is HH:MM of today")), "{said:?}");
    // What can be is danger before it is kept: 27.9 lb and all of 47.6 lb of water with R-448A at 131 F are under 73 lb.
    let danger = "DANGER: 16.2 lb over the limit. Shut the valve. Keep people and heat away. Take at least 16.2 lb out";
    assert!(said[16].starts_with(danger) && said[16].ends_with("Not kept yet."), "{}", said[16]);
    assert_eq!((&told[1], &told[2], &told[3]), (&serde_json::json!([]), &serde_json::json!([]), &serde_json::json!(0)));
}

#[test]
fn a_second_reading_stands_behind_the_first_and_both_go_into_the_ledger_once() {
    let Some(browser) = Browser::find("two readings of one cylinder") else { return };
    let folder = cold_store();
    let page = sheet(&folder, "cold-store.yaml");
    let script = format!(
        "{HANDS} keep('C-101', '40.0', {{ initials: 'AB' }}); keep('C-102', '30.0'); keep('C-101', '63.7', {{ time: '00:00' }}); \
         tell([kept('C-101'), lines(), card('C-101').querySelector('.reading').value, Date.now()]);"
    );
    let told = browser.ask(&page, 1000, &script);
    let kept: Vec<&str> = told[0].as_array().unwrap().iter().map(|one| one.as_str().unwrap()).collect();
    assert!(kept.len() == 2 && kept[0].starts_with("40.0 lb, 20") && kept[0].ends_with(", AB"), "{kept:?}");
    assert!(kept[1].starts_with("63.7 lb, 20") && told[2] == "", "{kept:?}");
    let lines: Vec<serde_json::Value> =
        told[1].as_array().unwrap().iter().map(|line| serde_json::from_str(line.as_str().unwrap()).unwrap()).collect();
    let ids: Vec<&str> = lines.iter().map(|line| line["cylinder"].as_str().unwrap()).collect();
    assert_eq!(ids, ["C-101", "C-102", "C-101"], "in the order in which they were kept");
    for line in &lines {
        // A date, a time and an offset: 2026-12-01T08:15:00-05:00.
        let at = line["at"].as_str().unwrap();
        let shape: String = at.chars().map(|c| if c.is_ascii_digit() { '9' } else { c }).collect();
        assert!(["9999-99-99T99:99:99+99:99", "9999-99-99T99:99:99-99:99"].contains(&shape.as_str()), "{at}");
    }
    let now: jiff::Timestamp = lines[0]["at"].as_str().unwrap().parse().unwrap();
    assert!((told[3].as_i64().unwrap() - now.as_millisecond()).abs() < 5000, "it is the moment of keeping");
    folder.write(READINGS, as_lines(&lines[..2]));
    weigh(&folder).is(0);
    let once = folder.ledger(YARD);
    assert!(once.contains("\"gross\":\"40 lb\"") && once.contains("AB"), "{once}");
    let again = weigh(&folder).is(0);
    assert_eq!(folder.ledger(YARD), once, "twice is once");
    assert_eq!(again.err.matches("kept already").count(), 2);
}

const READINGS: &str = "readings.txt";
const YARD: &str = "van-3.yaml";

fn as_lines(readings: &[serde_json::Value]) -> String {
    readings.iter().map(|line| format!("{line}\n")).collect()
}

/// The readings in the file, taken into the ledger.
fn weigh(folder: &Folder) -> Answer {
    folder.run(["weigh", "cold-store.yaml", "--import", READINGS])
}

#[test]
fn several_readings_of_a_cylinder_are_taken_in_order_and_once() {
    let line =
        |cylinder: &str, gross: &str, at: &str| serde_json::json!({ "cylinder": cylinder, "gross": gross, "at": at });
    let lines = [
        line("C-101", "40.0 lb", "2026-12-01T08:00:00-05:00"),
        line("C-101", "50.0 lb", "2026-12-01T08:20:00-05:00"),
        line("C-102", "30.0 lb", "2026-12-01T08:10:00-05:00"),
        line("C-101", "63.7 lb", "2026-12-01T08:40:00-05:00"),
    ];
    let folder = cold_store();
    folder.write(READINGS, as_lines(&lines));
    weigh(&folder).is(0);
    let once = folder.ledger(YARD);
    assert_eq!(folder.entries(YARD), 1 + lines.len(), "the plan and each reading: {once}");
    weigh(&folder).is(0);
    assert_eq!(folder.ledger(YARD), once, "twice imported changes nothing");
    // One that was taken back doesn't come again with the same file; one more line does.
    folder.done(&["weigh", "cold-store.yaml", "--undo"]);
    let undone = folder.ledger(YARD);
    weigh(&folder).is(0);
    assert_eq!(folder.ledger(YARD), undone);
    let more = line("C-101", "60.0 lb", "2026-12-01T08:45:00-05:00");
    folder.write(READINGS, format!("{}{more}\n", folder.read(READINGS)));
    weigh(&folder).is(0);
    assert!(folder.ledger(YARD).lines().last().unwrap().contains("60 lb"));
}

#[test]
fn what_an_older_page_kept_on_the_device_isnt_lost() {
    let Some(browser) = Browser::find("readings that an older page kept") else { return };
    let folder = cold_store();
    let page = sheet(&folder, "cold-store.yaml");
    let old = "{ 'C-101': { reading: '40.5', time: '08:15', initials: 'AB' }, 'C-102': { reading: '', time: '', initials: '' } }";
    let script = format!(
        "{HANDS} if (!window.name) {{ window.name = 'again'; localStorage.setItem('chargesplit ' + \
         document.getElementById('key').dataset.key, JSON.stringify({old})); location.reload(); }} \
         else {{ keep('C-101', '50.0'); tell([kept('C-101'), lines()]); }}"
    );
    let told = browser.ask(&page, 1000, &script);
    assert_eq!(
        (told[0].as_array().unwrap().len(), &told[0][0]),
        (2, &serde_json::json!("40.5 lb, 08:15, AB")),
        "{told}"
    );
    assert_eq!(told[1][0], r#"{"cylinder":"C-101","gross":"40.5 lb","at":"08:15","note":"AB"}"#);
}

#[test]
fn what_a_sheet_exports_is_what_the_ledger_takes() {
    let folder = cold_store();
    let lines = [
        r#"{"cylinder":"C-101","gross":"63.7 lb","at":"2026-12-01T10:05","note":"AB"}"#,
        r#"{"cylinder":"C-102","gross":"64.3 lb","at":"","note":""}"#,
    ];
    folder.write(READINGS, lines.join("\n"));
    let output = weigh(&folder);
    // C-102's limit is 64.2 lb: kept, and danger.
    assert_eq!(output.status, 1, "{}", output.err);
    let ledger = folder.ledger(YARD);
    for kept in ["\"gross\":\"63.7 lb\"", "\"gross\":\"64.3 lb\"", "AB"] {
        assert!(ledger.contains(kept), "{kept}: {ledger}");
    }
    folder.write(READINGS, "{\"cylinder\":\"C-101\"}\nnothing");
    let output = weigh(&folder);
    assert_eq!(output.status, 2);
    assert_eq!(output.err.matches("isn't a reading").count(), 2);
    assert_eq!(folder.ledger(YARD), ledger, "nothing was added");
}

#[test]
fn pounds_and_ounces_are_read_as_the_scale_shows_them() {
    let Some(browser) = Browser::find("ounces typed into the sheet") else { return };
    let folder = Folder::of_scenarios(&["ounces.yaml"]);
    let page = sheet(&folder, "ounces.yaml");
    let script = format!(
        "{HANDS} type('T-1', '29 lb 3 oz'); const first = answer('T-1'); keep('T-1', '29 lb 3 oz'); keep('T-1', '29 lb 17 oz'); \
         tell([first, answer('T-1'), kept('T-1').length]);"
    );
    // T-1 stops at 29 lb 5 oz; its tare is 16 lb 5 oz.
    let told = browser.ask(&page, 1000, &script);
    assert_eq!(told[0], "0 lb 2 oz to go. Net 12 lb 14 oz. Not kept yet.");
    assert_eq!((&told[1], &told[2]), (&"Only as the scale shows it: 29 lb 3 oz. Nothing was kept.".into(), &1.into()));
}

#[test]
fn a_narrow_screen_doesnt_scroll_sideways() {
    let Some(browser) = Browser::find("the sheet on a narrow screen") else { return };
    let (plain, hostile) = (cold_store(), hostile(200));
    let pages = [sheet(&plain, "cold-store.yaml"), sheet(&hostile, HOSTILE_JOB)];
    browser.are_quiet_and_fit_a_narrow_screen(&pages);
}

#[test]
fn printed_cards_stay_whole_on_letter_and_a4() {
    let Some(browser) = Browser::find("printing the sheet") else { return };
    if !is_there("pdftotext") {
        skipped("printing the sheet", "there is no pdftotext here");
        return;
    }
    let folder = hostile(30);
    let page = sheet(&folder, HOSTILE_JOB);
    for paper in ["letter", "A4"] {
        let pdf = browser.print(&page, paper);
        let text = Answer::to(Command::new("pdftotext").arg(&pdf).arg("-")).out;
        let pages: Vec<&str> = text.split('\u{c}').collect();
        let cards: usize = pages.iter().map(|page| page.matches("Stop at").count()).sum();
        assert!(cards >= 20, "{paper}: {cards} cards were printed");
        for page in &pages {
            assert_eq!(page.matches("Stop at").count(), page.matches("initials").count(), "{paper}: a card is torn");
        }
    }
}

#[test]
fn the_accessibility_checker_finds_nothing_serious() {
    let Some(browser) = Browser::find("the accessibility check") else { return };
    let Some(axe) = axe() else { return };
    for (folder, job) in [(cold_store(), "cold-store.yaml"), (hostile(20), HOSTILE_JOB)] {
        browser.is_accessible(&axe, &sheet(&folder, job));
    }
}
