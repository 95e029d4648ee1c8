//! Finding a refrigerant by what people write: its number with or without a prefix, or its chemical name.

use super::{Refrigerant, named, table};

/// Refrigerants that have a number and no row, each with the reason.
const LEFT_OUT: &str = include_str!("data/left_out.csv");

/// Prefixes that people put before the number, longest first. None of them changes which refrigerant it is.
const PREFIXES: [&str; 13] =
    ["refrigerant", "hcfo", "hcfc", "hfo", "hfc", "hfe", "cfc", "cfo", "pfc", "bfc", "hc", "fc", "r"];

/// Spellings by number beside the table's own, as spelling keys.
const OTHER_SPELLINGS: [(&str, &str); 4] =
    [("507", "R-507A"), ("509", "R-509A"), ("3-1-10", "R-31-10"), ("4-1-12", "R-41-12")];

/// How alike two chemical names must be for one to be offered in place of the other (1 is the same).
const ALIKE: f64 = 0.8;
/// Names offered at most.
const OFFERED: usize = 6;

/// Why a name leads to no refrigerant.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LookupError {
    /// No such name.
    #[error("`{asked}` is not a refrigerant of the table{}", nearest_in_words(.nearest))]
    Unknown {
        /// What was asked for.
        asked: String,
        /// Names of the table that are spelt nearly so, the nearest first; may be empty.
        nearest: Vec<&'static str>,
    },
    /// A number formed as ASHRAE 34 forms them, which is in no list here: no other one is offered in its place.
    #[error(
        "`{asked}` is newer than this table, or no refrigerant: nothing is figured for it, and no other number stands for \
         it; if the name is right, give its data in the job file under `refrigerants`"
    )]
    NotListed {
        /// What was asked for.
        asked: String,
    },
    /// One refrigerant or more are called so in part: the letter at the end is lacking.
    #[error("`{asked}` isn't the whole name: write {}", either(.candidates))]
    Ambiguous {
        /// What was asked for.
        asked: String,
        /// The full names, at least one.
        candidates: Vec<&'static str>,
    },
    /// A refrigerant without a row.
    #[error("{name} is left out of the table: {reason}. {}", what_to_do(*.may_be_given))]
    LeftOut {
        /// Its name.
        name: &'static str,
        /// Why it is left out.
        reason: &'static str,
        /// Whether a job file may state its properties.
        may_be_given: bool,
    },
    /// A refrigerant that isn't taken into refillable recovery cylinders, and has no row either.
    #[error("{name} is not taken into refillable recovery cylinders: {reason}")]
    Refused {
        /// Its name.
        name: &'static str,
        /// Why not.
        reason: &'static str,
    },
    /// A line of the embedded table that can't be read: a fault of the program.
    #[error("the table's line for {name} can't be read: this is a fault of the program")]
    Damaged {
        /// Its name.
        name: &'static str,
    },
}

/// `R-454A, R-454B or R-454C`.
fn either(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [others @ .., last] => format!("{} or {last}", others.join(", ")),
    }
}

fn nearest_in_words(nearest: &[&str]) -> String {
    let remedy = "if the name is right, state its properties in the job file under `refrigerants`";
    if nearest.is_empty() { format!("; {remedy}") } else { format!("; nearest: {}; {remedy}", nearest.join(", ")) }
}

fn what_to_do(may_be_given: bool) -> &'static str {
    if may_be_given {
        "State its properties in the job file under `refrigerants`, with their source"
    } else {
        "No recovery into cylinders can be planned for it"
    }
}

impl Refrigerant {
    /// The refrigerant of the table that is meant by `name`: `R-404A`, `r404a`, `404A`, `HFC-134a`, `propane`.
    ///
    /// Upper and lower case, spaces and hyphens don't matter, but two groups of digits never run together. Only the
    /// line asked for is read.
    ///
    /// # Errors
    /// An unknown name (with the nearest ones), a well-formed number that no list has (without any other), one that
    /// leaves open which isomer or blend is meant, a refrigerant that is left out (with the reason), or one that isn't
    /// taken into refillable recovery cylinders and has no row.
    pub fn find(name: &str) -> Result<Self, LookupError> {
        let Some(key) = number_key(name) else {
            return find_by_chemical_name(name);
        };
        let wanted = OTHER_SPELLINGS.iter().find(|(spelling, _)| *spelling == key).map(|&(_, full)| full);
        let is_meant = |full: &'static str| wanted == Some(full) || is_spelt(full, &key);
        if let Some(line) = table::lines().find(|line| is_meant(table::name_of(line))) {
            return table::read(line).ok_or(LookupError::Damaged { name: table::name_of(line) });
        }
        if let Some((name, reason)) = named::refused().find(|(full, _)| is_meant(full)) {
            return Err(LookupError::Refused { name, reason });
        }
        if let Some((_, answer)) = left_out().find(|(full, _)| is_meant(full)) {
            return Err(answer);
        }
        find_by_chemical_name(name).map_err(|_| not_found(name, &key))
    }
}

/// Refrigerants that have a number and no row, each with the answer to its name, in the order of the list.
fn left_out() -> impl Iterator<Item = (&'static str, LookupError)> {
    LEFT_OUT.lines().filter(|line| line.starts_with("R-")).filter_map(|line| {
        let (name, rest) = line.split_once(',')?;
        let (may_be_given, reason) = rest.split_once(',')?;
        let (may_be_given, reason) = (may_be_given == "yes", reason.trim_matches('"'));
        Some((name, LookupError::LeftOut { name, reason, may_be_given }))
    })
}

fn find_by_chemical_name(name: &str) -> Result<Refrigerant, LookupError> {
    let key = chemical_key(name);
    let is_named = |line: &&'static str| table::chemical_names_of(line).any(|known| chemical_key(known) == key);
    match table::lines().find(is_named) {
        Some(line) => table::read(line).ok_or(LookupError::Damaged { name: table::name_of(line) }),
        None => Err(LookupError::Unknown { asked: name.to_owned(), nearest: alike_chemicals(&key) }),
    }
}

/// Neither the table nor a list has this number. Which names come near it is said of slips alone: what is a number by
/// itself may be newer than the table, and the data of another would be taken for its own.
fn not_found(asked: &str, key: &str) -> LookupError {
    let all = || Refrigerant::names().chain(left_out().map(|(name, _)| name));
    let asked = asked.trim().to_owned();
    let longer: Vec<_> = all().filter(|name| completes(name, key)).collect();
    if !longer.is_empty() {
        return LookupError::Ambiguous { asked, candidates: longer };
    }
    let distance = |name: &str| number_key(name).map_or(usize::MAX, |known| strsim::damerau_levenshtein(&known, key));
    let near: Vec<_> = all().filter(|name| distance(name) == 1 && key.len() > 1).collect();
    let is_begun = |name: &&str| number_key(name).is_some_and(|known| known.starts_with(key));
    let begun: Vec<_> = near.iter().copied().filter(is_begun).collect();
    if longer.is_empty() && begun.is_empty() && is_well_formed(key) {
        return LookupError::NotListed { asked };
    }
    let mut nearest = if begun.is_empty() { near } else { begun };
    nearest.truncate(OFFERED);
    LookupError::Unknown { asked, nearest }
}

/// Whether a full name is this key and one letter more: `R-407C` completes `407`, `R-1234ze(E)` completes `1234ze`.
fn completes(full: &str, key: &str) -> bool {
    let Some(known) = number_key(full) else { return false };
    let more = known.strip_prefix(key).unwrap_or_default();
    let blend_or_isomer = full.contains('(') || key.starts_with(['4', '5']);
    more.len() == 1 && more.chars().all(|c| c.is_ascii_lowercase()) && blend_or_isomer
}

/// Whether ASHRAE 34 could give this number, by its rules as remembered: blends of the 400 and 500 series with at most
/// one letter; from 600 on organic compounds of another kind and inorganic ones; else the digits count carbon less one
/// (none for methane), hydrogen plus one, and fluorine, which carbon must be able to bind, behind a 1 for a double bond.
fn is_well_formed(key: &str) -> bool {
    let (ring, number) = match key.strip_prefix('c') {
        Some(rest) => (true, rest),
        None => (false, key.strip_prefix('e').unwrap_or(key)),
    };
    let letters = number.trim_start_matches(|c: char| c.is_ascii_digit());
    let digits: Vec<u32> =
        number.strip_suffix(letters).unwrap_or_default().chars().filter_map(|c| c.to_digit(10)).collect();
    let (double, carbon, hydrogen, fluorine) = match *digits.as_slice() {
        [4..=9, _, _] => return letters.len() <= 1,
        [hydrogen, fluorine] => (false, 1, hydrogen, fluorine),
        [carbon, hydrogen, fluorine] => (false, carbon + 1, hydrogen, fluorine),
        [1, carbon, hydrogen, fluorine] => (true, carbon + 1, hydrogen, fluorine),
        _ => return false,
    };
    let free = 2 * carbon + if ring || double { 0 } else { 2 };
    // Which carbon binds what: one letter for the middle of each, and E or Z where a double bond has sides.
    let bromine_or_iodine =
        letters.len() == 2 && letters.starts_with(['b', 'i']) && letters.ends_with(|c: char| c.is_ascii_digit());
    let isomer = letters.len() <= carbon as usize
        && (carbon > 1 || letters.is_empty())
        && letters.chars().all(|c| c.is_ascii_lowercase());
    hydrogen >= 1 && hydrogen - 1 + fluorine <= free && (bromine_or_iodine || isomer)
}

fn alike_chemicals(key: &str) -> Vec<&'static str> {
    let mut near: Vec<(f64, &'static str)> = table::lines()
        .flat_map(table::chemical_names_of)
        .map(|name| (strsim::normalized_damerau_levenshtein(&chemical_key(name), key), name))
        .filter(|&(alike, _)| alike >= ALIKE)
        .collect();
    near.sort_by(|a, b| b.0.total_cmp(&a.0));
    near.into_iter().map(|(_, name)| name).take(OFFERED).collect()
}

fn is_spelt(full: &str, key: &str) -> bool {
    number_key(full).as_deref() == Some(key)
}

/// The number without its prefix, in lower case, without separators except between two digits: `404a`, `1234zee`,
/// `c318`, `31-10`. `None` where the text can't be a number, or holds anything but letters, digits, spaces, hyphens
/// and brackets.
fn number_key(text: &str) -> Option<String> {
    let mut key = String::new();
    let mut parted = false;
    for c in text.trim().chars() {
        match c {
            'a'..='z' | 'A'..='Z' | '0'..='9' => {
                let joins_digits = c.is_ascii_digit() && key.ends_with(|last: char| last.is_ascii_digit());
                if parted && joins_digits {
                    key.push('-');
                }
                key.push(c.to_ascii_lowercase());
                parted = false;
            }
            // Hyphens: ASCII, the typographic ones, and the minus sign.
            ' ' | '\u{a0}' | '-' | '\u{2010}'..='\u{2014}' | '\u{2212}' | '_' | '(' | ')' => parted = true,
            _ => return None,
        }
    }
    let without = PREFIXES.iter().find_map(|prefix| key.strip_prefix(prefix).filter(|rest| starts_number(rest)));
    let number = without.unwrap_or(&key);
    starts_number(number).then(|| number.to_owned())
}

/// Digits, or the C or E of a ring or an ether and then digits.
fn starts_number(text: &str) -> bool {
    text.strip_prefix(['c', 'e']).unwrap_or(text).starts_with(|c: char| c.is_ascii_digit())
}

/// Letters and digits of a chemical name, in lower case.
fn chemical_key(text: &str) -> String {
    text.chars().filter(char::is_ascii_alphanumeric).map(|c| c.to_ascii_lowercase()).collect()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::panic)]
    use super::*;

    fn found(name: &str) -> String {
        Refrigerant::find(name).unwrap().name().to_owned()
    }

    #[test]
    fn usual_spellings_lead_to_the_same_row() {
        for (name, spellings) in [
            ("R-404A", &["R404A", "r-404a", "404A", " R 404 A ", "r\u{2011}404a", "HFC-404A", "Refrigerant 404A"][..]),
            ("R-134a", &["R-134A", "134a", "HFC-134a", "1,1,1,2-tetrafluoroethane", "1,1,1,2-Tetrafluoroethane"]),
            ("R-22", &["HCFC-22", "22", "r22", "chlorodifluoromethane"]),
            ("R-12", &["CFC-12", "cfc12"]),
            ("R-290", &["HC-290", "propane", "Propane", "R290"]),
            ("R-600a", &["isobutane", "iso-butane", "R-600A", "2-methylpropane"]),
            ("R-1234yf", &["HFO-1234yf", "1234YF"]),
            ("R-1234ze(E)", &["R1234ze(E)", "1234zeE", "HFO-1234ze(e)", "r-1234ze-e"]),
            ("R-1233zd(E)", &["HCFO-1233zd(E)", "1233zdE"]),
            ("R-32", &["difluoromethane", "hfc32"]),
            ("R-C318", &["RC318", "C318", "r-c318"]),
            ("R-E170", &["dimethyl ether", "RE170"]),
            ("R-507A", &["R-507", "507a"]),
            ("R-31-10", &["R-3-1-10", "perfluorobutane"]),
        ] {
            for spelling in spellings {
                assert_eq!(found(spelling), name, "{spelling}");
            }
        }
    }

    #[test]
    fn numbers_never_run_together() {
        for name in ["R-1 2", "12 5", "R-22, R-12", "22/12", "R-40.4A", "12;5", "R-22 5 lb"] {
            assert!(matches!(Refrigerant::find(name), Err(LookupError::Unknown { .. })), "{name}");
        }
    }

    #[test]
    fn unknown_names_are_answered_with_near_ones_only() {
        let nearest = |name: &str| match Refrigerant::find(name) {
            Err(LookupError::Unknown { nearest, .. }) => nearest,
            other => panic!("{name}: {other:?}"),
        };
        assert_eq!(nearest("R-134"), ["R-134a"]);
        assert!(nearest("R-44A").contains(&"R-404A"));
        assert!(Refrigerant::find("R-9999").unwrap_err().to_string().contains("job file"));
        assert_eq!(nearest("propan"), ["propane"]);
        for nonsense in ["", " ", "-", "air", "banana", "R-", "R-9999", "💧", "0", "R-22R-22"] {
            assert_eq!(nearest(nonsense), [""; 0], "{nonsense}");
        }
    }

    /// The data of a near one would be taken for its own.
    #[test]
    fn a_number_that_no_list_has_gets_no_other_in_its_place() {
        for asked in [
            "R-481A",
            "R-516B",
            "R-414C",
            "R-502A",
            "R-999A",
            "R-481",
            "R-245cb",
            "R-1225ye(E)",
            "R-1132(Z)",
            "R-C317",
            "R-E245",
            "R-133",
            "R-12B2",
            "R-633",
            "HFO-1345cz(Z)",
        ] {
            let answer = Refrigerant::find(asked).unwrap_err();
            assert_eq!(answer, LookupError::NotListed { asked: asked.into() });
            let said = answer.to_string();
            assert!(said.contains("newer than this table, or no refrigerant") && said.contains("under `refrigerants`"));
            assert!(said.matches("R-").count() <= 1, "{said}");
        }
        // Every number of the table and of the list is one by these rules, or they would be wrong.
        for name in Refrigerant::names().chain(left_out().map(|(name, _)| name)).filter(|name| !name.contains("-1")) {
            let key = number_key(name).unwrap();
            assert!(is_well_formed(&key) || ["31-10", "41-12"].contains(&key.as_str()), "{name}");
        }
        for slip in ["R-24", "R-135a", "R-22a", "R-4044A", "R-407CC", "R-04A", "R-1", "R-12345a", "R-1 2"] {
            assert!(!is_well_formed(&number_key(slip).unwrap()), "{slip}");
        }
    }

    #[test]
    fn names_that_leave_open_which_are_not_guessed() {
        let candidates = |name: &str| match Refrigerant::find(name) {
            Err(LookupError::Ambiguous { candidates, .. }) => candidates,
            other => panic!("{name}: {other:?}"),
        };
        assert_eq!(candidates("1234ze"), ["R-1234ze(E)", "R-1234ze(Z)"]);
        assert_eq!(candidates("HCFO-1233zd"), ["R-1233zd(E)", "R-1233zd(Z)"]);
        assert_eq!(candidates("1336mzz"), ["R-1336mzz(E)", "R-1336mzz(Z)"]);
        assert_eq!(candidates("1224yd"), ["R-1224yd(Z)", "R-1224yd(E)"]);
        assert_eq!(candidates("R-454"), ["R-454A", "R-454B", "R-454C"]);
        assert_eq!(candidates("R-404"), ["R-404A"]);
        let said = |name: &str| Refrigerant::find(name).unwrap_err().to_string();
        assert_eq!(said("R404"), "`R404` isn't the whole name: write R-404A");
        assert_eq!(said("454"), "`454` isn't the whole name: write R-454A, R-454B or R-454C");
    }

    #[test]
    fn what_is_left_out_or_refused_says_why() {
        let names: Vec<_> = left_out().collect();
        assert_eq!(names.len(), LEFT_OUT.lines().filter(|line| line.starts_with("R-")).count());
        for (name, answer) in names {
            let LookupError::LeftOut { reason, .. } = answer else { panic!("{name}") };
            assert!(!reason.is_empty() && !reason.contains('"') && !reason.ends_with('.'), "{name}");
            assert!(!Refrigerant::names().any(|row| row == name), "{name}");
            assert_eq!(Refrigerant::find(name), Err(answer));
        }
        let answer = |name: &str| Refrigerant::find(name).unwrap_err().to_string();
        assert!(answer("R-514A").contains("in the job file"), "{}", answer("R-514A"));
        assert!(answer("R-14").contains("No recovery"), "{}", answer("R-14"));
        for name in ["R-514A", "R-427B", "R-474B", "R-477A", "R-479A", "R-480A", "R-505", "R-506", "R-466A"] {
            assert!(matches!(Refrigerant::find(name), Err(LookupError::LeftOut { .. })), "{name}");
        }
        for name in ["R-30", "R-611", "R-31"] {
            assert!(matches!(Refrigerant::find(name), Err(LookupError::Refused { .. })), "{name}");
        }
        for name in ["R-717", "ammonia", "R-744", "carbon dioxide", "R-40", "R-764"] {
            assert!(Refrigerant::find(name).unwrap().refused().is_some(), "{name}");
        }
        assert_eq!(Refrigerant::find("R-22").unwrap().refused(), None);
    }
}
