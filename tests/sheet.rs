//! The page for the clipboard, in a real browser where there is one.
//!
//! The browser is Debian's `chromium`; `CHARGESPLIT_AXE` names the script of the accessibility checker axe-core, and
//! `pdftotext` reads what was printed. What isn't there is said to be skipped.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stderr)]

mod browser;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use browser::{Browser, axe, hostile_job, is_there, skipped};

fn sheet(jobs: &[&Path], folder: &Path) -> PathBuf {
    let page = folder.join("plan.html");
    let output = Command::new(env!("CARGO_BIN_EXE_chargesplit"))
        .arg("sheet")
        .args(jobs)
        .arg("-o")
        .arg(&page)
        .output()
        .expect("it runs");
    assert!(output.stdout.is_empty(), "the page goes into its file");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    page
}

fn cold_store(folder: &Path) -> PathBuf {
    sheet(&[Path::new("scenarios/cold-store.yaml")], folder)
}

fn hostile(folder: &Path, cylinders: usize) -> PathBuf {
    sheet(&[&hostile_job(folder, cylinders)], folder)
}

#[test]
fn the_page_stands_alone_and_is_complete_without_script() {
    let folder = tempfile::tempdir().unwrap();
    let page = fs::read_to_string(cold_store(folder.path())).unwrap();
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
    let folder = tempfile::tempdir().unwrap();
    let page = fs::read_to_string(hostile(folder.path(), 20)).unwrap();
    assert_eq!(page.matches("<script>").count(), 1, "only the page's own");
    assert!(page.contains("&lt;script&gt;alert(1)&lt;/script&gt;") && !page.contains("<b>x</b>"));
}

#[test]
fn a_reading_over_the_limit_shows_danger_and_is_kept() {
    let Some(browser) = Browser::find("readings typed into the sheet") else { return };
    let folder = tempfile::tempdir().unwrap();
    let page = cold_store(folder.path());
    let look = "const answers = () => [...document.querySelectorAll('.answer')].map(a => a.textContent); \
                const over = () => [...document.querySelectorAll('.card')].map(c => c.classList.contains('over')); \
                const requests = performance.getEntriesByType('resource').length;";
    let typing = "const type = (card, text) => { const field = document.querySelectorAll('.reading')[card]; \
                  field.value = text; field.dispatchEvent(new Event('input')); }; \
                  type(0, '63.7'); type(1, '64.2'); type(2, '154.6'); type(3, 'full');";
    // Typed, then the page is loaded again: the same browser, because an ended one may not have kept anything yet.
    let export = "document.querySelector('.export button').click(); const lines = document.querySelector('.export textarea').value;";
    let script = format!(
        "{look} if (!window.name) {{ {typing} window.name = JSON.stringify([answers(), over(), requests, faults]); \
         location.reload(); }} else {{ {export} tell([JSON.parse(window.name), [answers(), over()], lines]); }}"
    );
    let told = browser.ask(&page, 1000, &script);
    let (first, again) = (&told[0], &told[1]);
    // C-101 stops at 63.7 lb from a tare of 27.9; C-102's limit is 64.2, its stop 64.1; C-106's limit is 154.5 lb.
    assert_eq!(first[0][0], "0.0 lb to go. net 35.8 lb");
    assert_eq!(first[0][1], "0.1 lb over the stop weight: change cylinders. net 36.0 lb");
    assert_eq!(first[0][2], "DANGER: 0.1 lb over the limit. Stop, and take refrigerant out. net 93.1 lb");
    assert_eq!(first[0][3], "That isn't a reading of this scale.");
    assert_eq!(first[1], serde_json::json!([false, false, true, false, false, false, false]));
    assert_eq!((&first[2], &first[3]), (&serde_json::json!(0), &serde_json::json!([])), "no request, no error");
    assert_eq!((&again[0], &again[1]), (&first[0], &first[1]), "loaded again it still shows them");
    let lines: Vec<&str> = told[2].as_str().unwrap().lines().collect();
    assert_eq!(lines.len(), 3, "what isn't a reading is left out");
    assert_eq!(lines[2], r#"{"cylinder":"C-106","gross":"154.6 lb","at":"","note":""}"#);
}

#[test]
fn what_a_sheet_exports_is_what_the_log_takes() {
    let folder = tempfile::tempdir().unwrap();
    for file in ["cold-store.yaml", "van-3.yaml"] {
        fs::copy(Path::new("scenarios").join(file), folder.path().join(file)).unwrap();
    }
    let readings = folder.path().join("readings.txt");
    let lines = [
        r#"{"cylinder":"C-101","gross":"63.7 lb","at":"2026-12-01T10:05","note":"AB"}"#,
        r#"{"cylinder":"C-102","gross":"64.3 lb","at":"","note":""}"#,
    ];
    fs::write(&readings, lines.join("\n")).unwrap();
    let weigh = |file: &Path| {
        let job = folder.path().join("cold-store.yaml");
        Command::new(env!("CARGO_BIN_EXE_chargesplit"))
            .arg("weigh")
            .arg(job)
            .arg("--import")
            .arg(file)
            .output()
            .unwrap()
    };
    let output = weigh(&readings);
    // C-102's limit is 64.2 lb: kept, and danger.
    assert_eq!(output.status.code(), Some(1), "{}", String::from_utf8_lossy(&output.stderr));
    let log = fs::read_to_string(folder.path().join("cold-store.log.jsonl")).unwrap();
    assert!(
        log.contains("\"gross\":\"63.7 lb\"") && log.contains("\"gross\":\"64.3 lb\"") && log.contains("AB"),
        "{log}"
    );
    fs::write(&readings, "{\"cylinder\":\"C-101\"}\nnothing").unwrap();
    let output = weigh(&readings);
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(String::from_utf8_lossy(&output.stderr).matches("isn't a reading").count(), 2);
    assert_eq!(fs::read_to_string(folder.path().join("cold-store.log.jsonl")).unwrap(), log, "nothing was added");
}

#[test]
fn pounds_and_ounces_are_read_as_the_scale_shows_them() {
    let Some(browser) = Browser::find("ounces typed into the sheet") else { return };
    let folder = tempfile::tempdir().unwrap();
    let page = sheet(&[Path::new("scenarios/ounces.yaml")], folder.path());
    let script = "const field = document.querySelector('.reading'); field.value = '29 lb 3 oz'; \
                  field.dispatchEvent(new Event('input')); tell(document.querySelector('.answer').textContent);";
    // T-1 stops at 29 lb 5 oz; its tare is 16 lb 5 oz.
    assert_eq!(browser.ask(&page, 1000, script), "0 lb 2 oz to go. net 12 lb 14 oz");
}

#[test]
fn a_narrow_screen_doesnt_scroll_sideways() {
    let Some(browser) = Browser::find("the sheet on a narrow screen") else { return };
    let folder = tempfile::tempdir().unwrap();
    for page in [cold_store(folder.path()), hostile(folder.path(), 200)] {
        browser.fits_a_narrow_screen(&page);
    }
}

#[test]
fn printed_cards_stay_whole_on_letter_and_a4() {
    let Some(browser) = Browser::find("printing the sheet") else { return };
    if !is_there("pdftotext") {
        skipped("printing the sheet", "there is no pdftotext here");
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let page = hostile(folder.path(), 30);
    for paper in ["letter", "A4"] {
        let pdf = browser.print(&page, paper);
        let output = Command::new("pdftotext").arg(&pdf).arg("-").output().unwrap();
        let text = String::from_utf8_lossy(&output.stdout).into_owned();
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
    let folder = tempfile::tempdir().unwrap();
    for page in [cold_store(folder.path()), hostile(folder.path(), 20)] {
        browser.is_accessible(&axe, &page);
    }
}
