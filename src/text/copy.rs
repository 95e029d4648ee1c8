//! A job's file as a bind keeps it: what a plan needs of it, as one line that the reader of job files reads again.
//!
//! It names no file: the cylinders, and what only a quote or the truck asks for, are left away.

use std::path::Path;

use jiff::civil::Date;

use super::source::Source;
use super::tree::{Leaf, Node, Typed};
use super::work::{Loaded, read_sources};
use super::{Today, yaml};

use crate::problem::Problems;

/// Keys of a job that a plan doesn't need.
const LEFT_AWAY: [&str; 9] = ["yard", "cylinders", "stock", "labour", "prices", "bring", "rates", "offer", "date"];

/// The copy of a job's file, for the day that it is planned for.
pub(super) fn copy(node: &Node, date: Date) -> String {
    let Node::Map(entries) = node else { return String::new() };
    let kept = entries.iter().filter(|entry| !LEFT_AWAY.contains(&entry.key.as_str()));
    let keys = kept.map(|entry| format!("{}: {}", quoted(&entry.key), flow(&entry.value)));
    let date = format!("\"date\": {}", quoted(&date.to_string()));
    format!("{{{}}}", keys.chain([date]).collect::<Vec<_>>().join(", "))
}

/// A value as YAML writes it on one line.
fn flow(node: &Node) -> String {
    match node {
        Node::Null => "null".into(),
        Node::Leaf(Leaf { text, typed: Typed::Text, .. }) => quoted(text),
        Node::Leaf(Leaf { text, .. }) => text.clone(),
        Node::List(nodes) => format!("[{}]", nodes.iter().map(flow).collect::<Vec<_>>().join(", ")),
        Node::Map(entries) => {
            let keys = entries.iter().map(|entry| format!("{}: {}", quoted(&entry.key), flow(&entry.value)));
            format!("{{{}}}", keys.collect::<Vec<_>>().join(", "))
        }
    }
}

/// A text in quotes, as JSON and YAML both read it.
fn quoted(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}

/// Reads copies that a bind keeps: the jobs with their lots, and no cylinder.
///
/// # Errors
/// Every problem of a copy, as of a file. A copy that this version wrote has none, unless refrigerants or rules of
/// this version are others than those that wrote it.
pub fn read_copies<'t>(copies: impl IntoIterator<Item = &'t str>, today: &Today) -> Result<Loaded, Problems> {
    let read = |text: &str| {
        let source = Source::from_bytes(Path::new("the job as the plan in force keeps it"), text.as_bytes().to_vec())?;
        let node = yaml::read(&source)?;
        Ok((source, node))
    };
    let files = copies.into_iter().map(read).collect::<Result<Vec<_>, Problems>>()?;
    read_sources(files, Vec::new(), today, false, false)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn a_copy_says_what_the_file_says() {
        let text = "job: \"Roof: 1, \\\"west\\\"\"\nunits: lb\nyard: ../van.yaml\nowner: 'A, B'\nlimit: {fill: 75 %}\n\
                    systems:\n  - {name: RTU-1, refrigerant: R-22, nameplate: 36 lb 8 oz, allowance: 5 %}\n  \
                    - name: '2'\n    refrigerant: R-410A\n    nameplate: 10.50\n    condition: burnout\n";
        let source = Source::from_bytes(Path::new("job.yaml"), text.as_bytes().to_vec()).unwrap();
        let node = yaml::read(&source).unwrap();
        let copy = copy(&node, date(2026, 12, 1));
        assert!(!copy.contains("van.yaml") && !copy.contains('\n'), "{copy}");
        let today = Today::new(|| date(2030, 1, 1));
        let read = read_copies([copy.as_str()], &today).unwrap();
        let job: &crate::job::Job = &read.work.jobs()[0];
        assert_eq!((job.name.as_str(), job.owner.as_deref()), ("Roof: 1, \"west\"", Some("A, B")));
        assert_eq!((job.terms.date, job.terms.fill.to_string().as_str()), (date(2026, 12, 1), "75 %"));
        let names: Vec<&str> = job.systems.iter().map(|system| system.name.as_str()).collect();
        assert_eq!(names, ["RTU-1", "2"]);
        let charges: Vec<String> = read.work.lots().iter().map(|lot| read.work.division().text(lot.charge)).collect();
        assert_eq!(charges, ["38.4 lb", "10.5 lb"]);
        assert_eq!(read.copies, [copy]);
    }
}
