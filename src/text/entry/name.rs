//! Which ledger it is: an id that two who begin apart with the same cylinders come to by themselves.

use super::forms::weight_text;
use super::line::WriterHead;
use crate::cylinder::Cylinder;

/// What a yard's cylinders are known by, in any order: id, tare and water capacity. A digest of it is the id of a new
/// ledger.
pub fn identity_of(cylinders: &[Cylinder]) -> String {
    let line = |one: &Cylinder| {
        let [tare, capacity] = [one.tare, one.water_capacity].map(|weight| weight_text(weight, None));
        format!("{}\t{tare}\t{capacity}\n", one.id.alike())
    };
    let mut lines: Vec<String> = cylinders.iter().map(line).collect();
    lines.sort_unstable();
    lines.concat()
}

/// The ledger of a folder whose files have these heads: the one that this machine remembers to have written there; else the
/// one that the yard's own id names; else that of most files, and of several such the least. Without heads the yard's own.
pub fn ledger_named(heads: &[WriterHead], remembered: Option<&str>, ours: &str) -> String {
    let files = |ledger: &str| heads.iter().filter(|head| head.ledger == ledger).count();
    let known = remembered.filter(|ledger| files(ledger) > 0).or(Some(ours).filter(|ledger| files(ledger) > 0));
    let most =
        heads.iter().map(|head| head.ledger.as_str()).max_by_key(|ledger| (files(ledger), std::cmp::Reverse(*ledger)));
    known.or(most).or(remembered).unwrap_or(ours).to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cylinder::{Contents, Facts};
    use crate::quantity::Weight;

    #[test]
    fn the_same_cylinders_are_one_yard_however_they_are_written_down() {
        let cylinder = |id: &str, tare: Weight| {
            let facts = Facts::new(id, tare, Weight::pounds(47.into()), tare, Contents::Evacuated);
            Cylinder::new(facts).ok()
        };
        let lb = |pounds: i64| Weight::pounds(pounds.into());
        let one: Vec<Cylinder> = [cylinder("C-1", lb(28)), cylinder("C-2", lb(29))].into_iter().flatten().collect();
        let two: Vec<Cylinder> = [cylinder("c\u{2011}2", Weight::ounces(464.into())), cylinder("C-1", lb(28))]
            .into_iter()
            .flatten()
            .collect();
        let other: Vec<Cylinder> = [cylinder("C-1", lb(28)), cylinder("C-2", lb(30))].into_iter().flatten().collect();
        assert_eq!((one.len(), two.len()), (2, 2));
        assert_eq!(identity_of(&one), identity_of(&two));
        assert_ne!(identity_of(&one), identity_of(&other));
    }

    #[test]
    fn a_folder_is_of_the_ledger_that_this_machine_or_the_yard_knows_or_else_of_that_of_most_files() {
        let head = |ledger: &str| WriterHead { ledger: ledger.into(), writer: "w".into(), tag: "t".into() };
        let heads = ["a", "b", "b", "c", "c"].map(head);
        assert_eq!(ledger_named(&heads, Some("a"), "c"), "a");
        assert_eq!(ledger_named(&heads, Some("z"), "c"), "c");
        assert_eq!(ledger_named(&heads, None, "y"), "b");
        assert_eq!(ledger_named(&[], None, "y"), "y");
        assert_eq!(ledger_named(&[], Some("z"), "y"), "z");
    }
}
