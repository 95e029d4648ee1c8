//! What a job file doesn't say and a plan needs all the same: the defaults that stand in, in the words of the file.
//!
//! Read from the tree beside the job itself, so that a value which was typed is told from the same value assumed.

use super::tree::Node;
use crate::cylinder::Rules;
use crate::job::{Job, usual_one_person};

/// A default: the section that its key stands in (none for the file itself), the key, and what is taken without it.
type Default = (&'static str, &'static str, fn(&Job) -> String);

/// The defaults of a job.
const OF_JOB: &[Default] = &[
    ("", "date", |job| format!("{}, today", job.terms.date)),
    ("", "scale_division", |job| job.terms.scale.division.text(1)),
    ("scale", "accuracy", |_| "0, nothing is kept free below the limits".into()),
    ("scale", "capacity", |_| "none".into()),
    ("limit", "fill", |job| job.terms.fill.to_string()),
    ("limit", "at", |job| job.terms.scale.temperature(job.terms.at).to_string()),
    ("limit", "rules", |job| word(&Rules::ALL, job.terms.rules)),
    ("site", "lift_limit", |_| "none".into()),
    ("site", "one_person", |job| job.terms.scale.text(usual_one_person())),
    ("site", "hottest", |_| "none, never hotter than limit.at".into()),
    ("", "reuse_together", |job| job.reuse_together.to_string()),
];

/// The defaults of a system that have one value for all systems.
const OF_SYSTEM: [(&str, &str); 3] = [("allowance", "nothing"), ("condition", "clean"), ("fate", "reclaim")];

/// Every default that stands in for what this file doesn't say.
pub(super) fn assumed(file: &Node, job: &Job) -> Vec<String> {
    let dotted =
        |section: &str, key: &str| if section.is_empty() { key.to_owned() } else { format!("{section}.{key}") };
    let left_out = OF_JOB.iter().filter(|(section, key, _)| {
        let place = if section.is_empty() { Some(file) } else { value(file, section) };
        place.and_then(|place| value(place, key)).is_none()
    });
    let mut all: Vec<String> =
        left_out.map(|(section, key, say)| format!("{} {}", dotted(section, key), say(job))).collect();
    let nodes: &[Node] = match value(file, "systems") {
        Some(Node::List(nodes)) => nodes,
        Some(Node::Null | Node::Leaf(_) | Node::Map(_)) | None => &[],
    };
    for (key, taken) in OF_SYSTEM {
        // An estimated charge is planned for its high end and needs no allowance.
        let silent =
            |node: &&Node| value(node, key).is_none() && (key != "allowance" || value(node, "charge").is_none());
        let count = nodes.iter().filter(silent).count();
        if count > 0 {
            all.push(format!("{key} {taken} for {count} of {} systems", nodes.len()));
        }
    }
    all
}

/// The value of a key, where there is one.
fn value<'n>(node: &'n Node, key: &str) -> Option<&'n Node> {
    match node {
        Node::Map(entries) => entries.iter().find(|entry| entry.key == key).map(|entry| &entry.value),
        Node::Null | Node::Leaf(_) | Node::List(_) => None,
    }
    .filter(|value| **value != Node::Null)
}

fn word<T: PartialEq + Copy>(all: &[(T, &'static str)], one: T) -> String {
    all.iter().find(|(known, _)| *known == one).map_or_else(String::new, |(_, word)| (*word).to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cylinder::{Condition, Fate};

    #[test]
    fn the_words_for_systems_are_those_of_the_defaults() {
        assert_eq!(Condition::Clean.name(), OF_SYSTEM[1].1);
        assert_eq!(word(&Fate::ALL, Fate::Reclaim), OF_SYSTEM[2].1);
    }
}
