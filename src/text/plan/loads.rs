//! The loads of a plan file, and the pours that they are filled in.

use super::{Each, MOST_CYLINDERS, key};
use crate::cylinder::Tag;
use crate::plan::{Load, Pour, Share};
use crate::problem::Code;
use crate::quantity::Marks;
use crate::text::fields::{Fields, Findings, Value};
use crate::text::shape::{Holds, Shape, may};

pub(super) static LOAD: Shape = Shape {
    what: "loads",
    keys: &[
        key("order", Holds::Text),
        key("cylinder", Holds::Text),
        key("lot", Holds::Text),
        key("refrigerant", Holds::Text),
        may("marks", Holds::Texts(Tag::ALL.len()), ""),
        key("from", Holds::List(&SHARE, MOST_CYLINDERS)),
        may("pours", Holds::List(&POUR, MOST_CYLINDERS), ""),
        key("now", Holds::Text),
        key("add", Holds::Text),
        may("ease_off", Holds::Text, ""),
        key("stop", Holds::Text),
        key("limit", Holds::Text),
        key("ceiling", Holds::Text),
        key("liquid_full", Holds::Text),
    ],
    rules: &[],
};
static SHARE: Shape = Shape { what: "from", keys: &[key("system", Holds::Text), key("add", Holds::Text)], rules: &[] };
static POUR: Shape = Shape {
    what: "pours",
    keys: &[
        key("system", Holds::Text),
        key("from", Holds::Text),
        key("to", Holds::Text),
        key("add", Holds::Text),
        key("vapour_last", Holds::Flag),
    ],
    rules: &[],
};

impl Each {
    /// The loads. A file from before there were pours says only what comes from each system: in that order, then, and a
    /// system's last is its vapour.
    pub(super) fn loads(self, fields: Fields, found: &mut Findings) -> Vec<Load> {
        let mut loads = fields.each("loads", found, |fields, found| self.load(fields, found));
        let mut ended: Vec<String> = Vec::new();
        for (load, stated) in loads.iter_mut().rev() {
            for pour in load.pours.iter_mut().rev().filter(|_| !*stated) {
                pour.vapour_last = !ended.contains(&pour.system);
                ended.push(pour.system.clone());
            }
        }
        loads.into_iter().map(|(load, _)| load).collect()
    }

    /// A load, and whether its pours are stated.
    fn load(self, fields: Fields, found: &mut Findings) -> Option<(Load, bool)> {
        let order = self.count(fields, "order", found);
        let (cylinder, lot) = (self.text(fields, "cylinder", found), self.sentence(fields, "lot", found));
        let refrigerant = self.sentence(fields, "refrigerant", found);
        // A plan written before there were marks has none; the audit says where one is missing.
        let tags = fields.values("marks", found).into_iter().filter_map(|value| value.word(&Tag::ALL, found)).collect();
        let from = fields.each("from", found, |fields, found| self.share(fields, found));
        let (now, add) = (self.weight(fields, "now", found), self.weight(fields, "add", found));
        let (stop, limit) = (self.weight(fields, "stop", found), self.weight(fields, "limit", found));
        // Slowly from the start is the safe side.
        let ease_off = if fields.has("ease_off") { self.weight(fields, "ease_off", found) } else { now };
        let ceiling = self.text(fields, "ceiling", found);
        let liquid_full = self.sentence(fields, "liquid_full", found);
        let stated = fields.has("pours");
        let pours = if stated { self.pours(fields, &from, found) } else { one_after_another(now?, &from) };
        let load = Load {
            order: order?,
            cylinder: cylinder?.into(),
            lot: lot?,
            refrigerant: refrigerant?,
            tags,
            pours,
            now: now?,
            add: add?,
            ease_off: ease_off?,
            stop: stop?,
            limit: limit?,
            ceiling: ceiling?,
            liquid_full: liquid_full?,
        };
        Some((load, stated))
    }

    /// Pours as they are stated; what comes from each system by them is what stands under `from`.
    fn pours(self, fields: Fields, from: &[Share], found: &mut Findings) -> Vec<Pour> {
        let before = found.problems.len();
        let pours = fields.each("pours", found, |fields, found| self.pour(fields, found));
        let shares: Vec<Share> = pours.iter().map(Pour::share).collect();
        if found.problems.len() == before && shares != from {
            let message = "`from` isn't what the pours take from each system";
            found.add(Code::ConflictingKeys, fields.mark("pours"), message, "write the plan again with this version");
        }
        pours
    }

    fn pour(self, fields: Fields, found: &mut Findings) -> Option<Pour> {
        let system = self.sentence(fields, "system", found);
        let (from, to) = (self.weight(fields, "from", found), self.weight(fields, "to", found));
        let add = self.weight(fields, "add", found);
        let vapour_last = fields.read("vapour_last", found, Value::flag);
        Some(Pour { system: system?, from: from?, to: to?, add: add?, vapour_last: vapour_last? })
    }

    fn share(self, fields: Fields, found: &mut Findings) -> Option<Share> {
        let (system, add) = (self.sentence(fields, "system", found), self.weight(fields, "add", found));
        Some(Share { system: system?, add: add? })
    }
}

/// The pours of a file that states only what comes from each system.
fn one_after_another(now: Marks, from: &[Share]) -> Vec<Pour> {
    let mut at = now;
    let mut pour = |share: &Share| {
        let from = at;
        at = at.saturating_add(share.add);
        Pour { system: share.system.clone(), from, to: at, add: share.add, vapour_last: false }
    };
    from.iter().map(&mut pour).collect()
}
