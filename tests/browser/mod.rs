//! A real browser for the tests of pages, and a job whose names would break a page that took them for markup.
//!
//! The browser is Debian's `chromium`; `CHARGESPLIT_AXE` names the script of the accessibility checker axe-core, and
//! `pdftotext` reads what was printed. What isn't there is said to be skipped.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use tempfile::TempDir;

pub struct Browser {
    folder: TempDir,
}

pub fn skipped(what: &str, why: &str) {
    eprintln!("SKIPPED: {what}, because {why}");
}

pub fn is_there(program: &str) -> bool {
    Command::new(program).arg("--version").output().is_ok_and(|output| output.status.success())
        || Command::new(program).arg("-v").output().is_ok()
}

impl Browser {
    pub fn find(what: &str) -> Option<Self> {
        if !is_there("chromium") {
            skipped(what, "there is no chromium here");
            return None;
        }
        Some(Self { folder: tempfile::tempdir().unwrap() })
    }

    fn run(&self, width: u32, more: &[String], page: &Path) -> String {
        let output = Command::new("chromium")
            .args(["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"])
            .args(["--disable-background-networking", "--disable-component-update", "--disable-sync"])
            .arg(format!("--user-data-dir={}", self.folder.path().join("profile").display()))
            .arg(format!("--window-size={width},900"))
            .args(more)
            .arg(format!("file://{}", page.display()))
            .output()
            .expect("the browser starts");
        String::from_utf8_lossy(&output.stdout).into_owned()
    }

    /// Opens the page with a script behind it that ends by calling `tell` with something, and returns that.
    pub fn ask(&self, page: &Path, width: u32, script: &str) -> serde_json::Value {
        let tell = "const tell = what => { const at = document.createElement('pre'); at.id = 'told'; \
                    at.textContent = JSON.stringify(what); document.body.append(at); };";
        let whole = watched(page).replacen("</body>", &format!("<script>{tell}{script}</script></body>"), 1);
        // Beside the page and under one name, so that what it keeps on the device is its own.
        let probe = page.with_file_name("probe.html");
        fs::write(&probe, whole).unwrap();
        let dom = self.run(width, &["--dump-dom".into(), "--virtual-time-budget=4000".into()], &probe);
        let told = dom.split("<pre id=\"told\">").nth(1).and_then(|rest| rest.split("</pre>").next());
        let told = told.unwrap_or_else(|| panic!("the page told nothing: {}", &dom[..dom.len().min(400)]));
        let text = told.replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&");
        serde_json::from_str(&text).expect("it tells JSON")
    }

    pub fn print(&self, page: &Path, paper: &str) -> PathBuf {
        let sized = page.with_file_name(format!("{paper}.html"));
        let whole = fs::read_to_string(page).unwrap();
        fs::write(&sized, whole.replacen("@page { ", &format!("@page {{ size: {paper}; "), 1)).unwrap();
        let pdf = page.with_file_name(format!("{paper}.pdf"));
        self.run(1000, &[format!("--print-to-pdf={}", pdf.display())], &sized);
        pdf
    }

    /// Each page asks for nothing, has no error, one heading, and needs no scrolling sideways at 360 pixels. All stand in
    /// frames of one page, as every start of a browser takes a second.
    pub fn are_quiet_and_fit_a_narrow_screen(&self, pages: &[PathBuf]) {
        let quoted = |page: &PathBuf| serde_json::to_string(&watched(page)).unwrap().replace("</", "<\\/");
        let texts: Vec<String> = pages.iter().map(quoted).collect();
        let script = format!(
            "const look = frame => {{ const [inside, whole] = [frame.contentWindow, frame.contentDocument.documentElement]; \
             frame.width = 360; return [inside.performance.getEntriesByType('resource').length, inside.faults, \
             whole.querySelectorAll('h1').length, whole.scrollWidth, whole.clientWidth]; }}; \
             const frames = [{}].map(text => {{ const frame = document.createElement('iframe'); \
             frame.width = 1000; frame.height = 700; frame.srcdoc = text; return frame; }}); let loading = frames.length; \
             for (const frame of frames) {{ frame.onload = () => {{ if (--loading === 0) tell(frames.map(look)); }}; \
             document.body.append(frame); }}",
            texts.join(", ")
        );
        let around = pages[0].with_file_name("around.html");
        fs::write(&around, "<!doctype html><html><head></head><body></body></html>").unwrap();
        let told = self.ask(&around, 1100, &script);
        assert_eq!(told.as_array().unwrap().len(), pages.len());
        for (told, page) in told.as_array().unwrap().iter().zip(pages) {
            let said = format!("{}: {told}", page.display());
            assert_eq!((&told[0], &told[1], &told[2]), (&0.into(), &serde_json::json!([]), &1.into()), "{said}");
            let width = |index: usize| told[index].as_u64().unwrap();
            assert!(width(4) > 300 && width(4) <= 360, "the frame was drawn: {said}");
            assert!(width(3) <= width(4), "{said}");
        }
    }

    /// The accessibility checker finds nothing serious.
    pub fn is_accessible(&self, axe: &str, page: &Path) {
        let script = format!(
            "{axe}; axe.run(document).then(found => tell([found.passes.length, found.violations.map(v => [v.id, v.impact, v.nodes[0].html])]));"
        );
        let told = self.ask(page, 1000, &script);
        assert!(told[0].as_u64().unwrap() > 10, "the checker ran: {told}");
        let serious: Vec<_> = told[1]
            .as_array()
            .unwrap()
            .iter()
            .filter(|found| found[1] == "serious" || found[1] == "critical")
            .collect();
        assert!(serious.is_empty(), "{serious:?}");
    }
}

/// The page with a list, `faults`, of what goes wrong in it.
fn watched(page: &Path) -> String {
    let head = "var faults = []; addEventListener('error', e => faults.push(e.message)); \
                addEventListener('securitypolicyviolation', e => faults.push(e.blockedURI));";
    let whole = fs::read_to_string(page).unwrap();
    let whole = whole.replacen("<head>", &format!("<head><script>{head}</script>"), 1);
    // A page without a script allows none; the probe's own have to run.
    whole.replacen("; img-src", "; script-src 'unsafe-inline'; img-src", 1)
}

/// The script of the accessibility checker, or `None` with a word that the check is left out.
pub fn axe() -> Option<String> {
    let Ok(axe) = std::env::var("CHARGESPLIT_AXE").map(PathBuf::from) else {
        skipped("the accessibility check", "CHARGESPLIT_AXE doesn't name axe-core's script");
        return None;
    };
    Some(fs::read_to_string(axe).expect("axe-core's script can be read"))
}

/// Markup, quotes, letters written to the left, pictures, and length. (Marks of direction are refused in a file.)
pub fn hostile_names() -> [String; 5] {
    let names = ["<script>alert(1)</script>", "\"'><b>x</b>", "\u{5e9}\u{5dc}\u{5d5}\u{5dd}", "🧊❄"];
    let [first, second, third, fourth] = names.map(str::to_owned);
    [first, second, third, fourth, "W".repeat(300)]
}

/// The name of the file has a mark of direction in it.
pub const HOSTILE_JOB: &str = "job\u{202e}.yaml";

/// A job of many cylinders with names that would break a page which took them for markup.
pub fn hostile_job(cylinders: usize) -> String {
    let names = hostile_names();
    let quoted = |name: &str| serde_json::to_string(name).unwrap();
    let mut text = format!("job: {}\ndate: 2026-12-01\nunits: lb\nsystems:\n", quoted(&names[0]));
    for (index, name) in names.iter().enumerate() {
        text += &format!(
            "  - {{ name: {}, refrigerant: R-22, nameplate: {} lb }}\n",
            quoted(name),
            20 * cylinders / names.len() - index
        );
    }
    text += "cylinders:\n";
    let numbered = (names.len()..cylinders).map(|index| format!("N-{index}"));
    for id in names.iter().cloned().chain(numbered) {
        text += &format!(
            "  - {{ id: {}, tare: 16.4, water_capacity: 26.2, gross: 16.4, holds: evacuated, mark: DOT-4BA400, tested: 2024-06 }}\n",
            quoted(&id)
        );
    }
    text
}
