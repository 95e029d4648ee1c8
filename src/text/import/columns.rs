//! Which key of a yard a column of somebody's list is: known names, and nothing that could be two things.

/// The names that people give to what a yard calls by its key; lower case, no punctuation, no unit. A name that stands
/// under two keys could be either, and is neither until somebody says which.
pub(super) const NAMES: &[(&str, &[&str])] = &[
    (
        "id",
        &[
            "id",
            "cylinder",
            "cylinder id",
            "cylinder no",
            "cylinder number",
            "cyl",
            "cyl id",
            "cyl no",
            "cyl number",
            "serial",
            "serial no",
            "serial number",
            "sn",
            "s n",
            "tag",
            "tag no",
            "asset",
            "asset no",
            "asset number",
            "tank",
            "tank no",
            "tank number",
            "bottle",
            "bottle no",
        ],
    ),
    ("tare", &["tare", "tare wt", "tare weight", "tw", "weight", "wt", "empty", "empty wt", "empty weight"]),
    (
        "water_capacity",
        &[
            "water capacity",
            "water cap",
            "water",
            "water wt",
            "water weight",
            "wc",
            "w c",
            "wcap",
            "capacity",
            "cap",
            "size",
        ],
    ),
    (
        "gross",
        &[
            "gross",
            "gross wt",
            "gross weight",
            "gross today",
            "gw",
            "weight today",
            "weight now",
            "current weight",
            "current wt",
            "present weight",
            "scale weight",
            "scale reading",
            "weighed",
            "weight",
            "wt",
            "empty",
            "empty wt",
            "empty weight",
        ],
    ),
    (
        "max_gross",
        &[
            "max gross",
            "max gross wt",
            "max gross weight",
            "maximum gross",
            "maximum gross weight",
            "mgw",
            "capacity",
            "cap",
            "size",
        ],
    ),
    ("holds", &["holds", "contents", "content", "gas", "refrigerant", "refrig", "product", "type"]),
    ("condition", &["contents condition", "gas condition", "refrigerant condition"]),
    (
        "mark",
        &[
            "mark",
            "marking",
            "dot mark",
            "dot marking",
            "dot spec",
            "dot specification",
            "tc mark",
            "tc spec",
            "spec",
            "specification",
            "cylinder spec",
            "type",
        ],
    ),
    ("service_pressure", &["service pressure", "serv pressure", "service press", "pressure", "pressure rating"]),
    ("test_pressure", &["test pressure", "pressure", "pressure rating"]),
    (
        "tested",
        &[
            "tested",
            "last test",
            "last tested",
            "last test date",
            "last retest",
            "last hydro",
            "test date",
            "date tested",
            "hydro date",
            "hydro test date",
            "requalified",
            "last requal",
            "last requalification",
            "hydro",
            "retest",
            "retest date",
            "requal",
            "requal date",
            "date",
        ],
    ),
    (
        "due",
        &[
            "due",
            "due date",
            "test due",
            "next test",
            "next test date",
            "next due",
            "next due date",
            "next hydro",
            "next retest",
            "retest due",
            "retest by",
            "hydro due",
            "requal due",
            "requalification due",
            "expires",
            "expiry",
            "expiry date",
            "exp date",
            "hydro",
            "retest",
            "retest date",
            "requal",
            "requal date",
            "date",
        ],
    ),
    (
        "made",
        &[
            "made",
            "date made",
            "manufactured",
            "mfg date",
            "mfr date",
            "manufacture date",
            "date of manufacture",
            "built",
            "date",
        ],
    ),
    ("flammable", &["flammable", "for flammables", "flammable ok"]),
    ("damage", &["damage", "damage noted", "damage seen", "defects"]),
    (
        REMARK,
        &[
            "note",
            "notes",
            "remark",
            "remarks",
            "comment",
            "comments",
            "status",
            "condition",
            "observations",
            "problems",
            "issues",
            "faults",
            "memo",
        ],
    ),
];

/// What people write of a cylinder in words of their own. Several columns may be remarks, also by one word of a head:
/// "Valve notes".
pub(super) const REMARK: &str = "remark";

/// Keys that a column stands for only where its head is letter for letter the key: what somebody has to say of each
/// cylinder and nobody says by chance.
pub(super) const ONLY_OURS: [&str; 1] = ["remark_settled"];

/// Keys of a yard that a list isn't asked for, each with the reason.
#[cfg(test)]
const NOT_ASKED: [(&str, &str); 7] = [
    ("pressure", "worth something only beside the temperature that it was measured at"),
    ("temperature", "as the pressure"),
    ("owner", "a list's owner is the cylinder's; the key is whose the contents are"),
    ("kept_for", "names a job of ours"),
    ("may_contain", "a list of names, of a mixture that has been identified"),
    ("confirmed", "somebody has to read the stamp again first"),
    ("cleaned", "somebody has to vouch for it"),
];

/// Units that may stand at the end of a head, and as a yard writes them.
const UNITS: [(&str, &str); 18] = [
    ("lb oz", "lb-oz"),
    ("lbs oz", "lb-oz"),
    ("lb", "lb"),
    ("lbs", "lb"),
    ("pound", "lb"),
    ("pounds", "lb"),
    ("kg", "kg"),
    ("kgs", "kg"),
    ("kilos", "kg"),
    ("kilograms", "kg"),
    ("oz", "oz"),
    ("g", "g"),
    ("grams", "g"),
    ("psig", "psig"),
    ("psi", "psi"),
    ("bar", "bar"),
    ("barg", "bar"),
    ("kpa", "kPa"),
];

/// A head in lower case without punctuation, and the unit behind it.
pub(super) fn plain(head: &str) -> (String, Option<&'static str>) {
    let mut name = String::new();
    for c in head.chars().flat_map(char::to_lowercase) {
        match c {
            '.' | '\'' | '\u{2019}' | '#' => {}
            c if c.is_alphanumeric() => name.push(c),
            _ => name.push(' '),
        }
    }
    let name = name.split_whitespace().collect::<Vec<_>>().join(" ");
    for (typed, unit) in UNITS {
        if let Some(rest) = name.strip_suffix(typed).and_then(|rest| rest.strip_suffix(' ')) {
            let rest = rest.strip_suffix(" in").unwrap_or(rest);
            return (rest.to_owned(), Some(unit));
        }
    }
    (name, None)
}

/// The keys that a column with this head could be, and the unit behind it. A head that is letter for letter what a yard
/// of ours has, such as `condition`, is that key alone; the reader of yards holds its cells to what the key may be.
pub(super) fn of_head(head: &str) -> (Vec<&'static str>, Option<&'static str>) {
    let (name, unit) = plain(head);
    let bare = head.split('[').next().unwrap_or(head).trim();
    let known = NAMES.iter().map(|(key, _)| *key).chain(ONLY_OURS);
    let ours = known.into_iter().find(|key| *key == bare && key.replace('_', " ") == name);
    (ours.map_or_else(|| keys(&name), |key| vec![key]), unit)
}

/// The keys that a column of this plain name could be.
fn keys(name: &str) -> Vec<&'static str> {
    // A head may be the key itself: `water_capacity`.
    let is = |(key, names): &&(&'static str, &[&str])| names.contains(&name) || key.replace('_', " ") == name;
    let found: Vec<&str> = NAMES.iter().filter(is).map(|(key, _)| *key).collect();
    // What may be a remark is one: a remark can only hold a cylinder out.
    let one_word = || name.split(' ').any(is_remark);
    if is_remark(name) || (found.is_empty() && one_word()) { vec![REMARK] } else { found }
}

fn is_remark(name: &str) -> bool {
    NAMES.iter().any(|(key, names)| *key == REMARK && names.contains(&name))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::text::row::SHAPE;

    #[test]
    fn every_key_has_names_or_a_reason() {
        for key in SHAPE.names() {
            let named = NAMES.iter().any(|(known, names)| *known == key && !names.is_empty());
            let not_asked = NOT_ASKED.iter().any(|(known, why)| *known == key && !why.is_empty());
            let ours = ONLY_OURS.contains(&key);
            assert_eq!([named, not_asked, ours].into_iter().filter(|is| *is).count(), 1, "{key}");
        }
        assert_eq!(NAMES.len() + NOT_ASKED.len() + ONLY_OURS.len(), SHAPE.keys.len());
    }

    #[test]
    fn names_are_plain_and_stand_once_under_a_key() {
        for (key, names) in NAMES {
            for (index, name) in names.iter().enumerate() {
                assert_eq!(plain(name), ((*name).to_owned(), None), "{key}");
                assert!(!names[..index].contains(name), "{key}: {name} stands there twice");
            }
            // At least one name is this key's alone, or the column could never be taken.
            assert!(names.iter().any(|name| keys(name) == [*key]), "{key}");
        }
    }

    #[test]
    fn heads_as_people_write_them() {
        for (head, key, unit) in [
            ("Serial", "id", None),
            ("Cyl #", "id", None),
            ("Tare Wt (lbs)", "tare", Some("lb")),
            ("WC", "water_capacity", None),
            ("W.C. lb", "water_capacity", Some("lb")),
            ("Water cap.", "water_capacity", None),
            ("water_capacity [kg]", "water_capacity", Some("kg")),
            ("Gross", "gross", None),
            ("Weight today, in kg", "gross", Some("kg")),
            ("MAX. GROSS WT.", "max_gross", None),
            ("Contents", "holds", None),
            ("Gas", "holds", None),
            ("Refrigerant", "holds", None),
            ("Last test", "tested", None),
            ("Retest due", "due", None),
            ("Hydro date", "tested", None),
            ("Spec", "mark", None),
            ("DOT marking", "mark", None),
            ("Service pressure (psig)", "service_pressure", Some("psig")),
            // Exactly a key, as a yard of ours has it.
            ("condition", "condition", None),
            ("tare [lb-oz]", "tare", Some("lb-oz")),
            ("Next due", "due", None),
            ("Notes", "remark", None),
            ("COMMENTS", "remark", None),
            ("Remarks / notes", "remark", None),
            ("Valve notes 2", "remark", None),
            ("Status", "remark", None),
            // Not letter for letter ours.
            ("Condition", "remark", None),
            ("Remark settled", "remark", None),
            ("Contents condition", "condition", None),
            ("remark_settled", "remark_settled", None),
        ] {
            assert_eq!(of_head(head), (vec![key], unit), "{head}");
        }
        for (head, both) in [
            ("Weight", &["tare", "gross"][..]),
            ("Capacity (lb)", &["water_capacity", "max_gross"]),
            ("Retest date", &["tested", "due"]),
            ("Type", &["holds", "mark"]),
            ("condition [psig]", &["condition"]),
            ("gross [yesterday]", &[]),
            ("Remark_Settled?", &["remark"]),
            ("settled", &[]),
            ("Notebook", &[]),
            ("Owner", &[]),
            ("lb", &[]),
        ] {
            assert_eq!(of_head(head).0, both, "{head}");
        }
    }
}
