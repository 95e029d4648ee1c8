//! How a cylinder is carried, by what it weighs and how it leaves the place.
//!
//! It advises and forbids nothing: a lift that a site doesn't allow is its `lift_limit`. All of it is common practice, no
//! source; OSHA sets no weight, but asks for a hand on the ladder and for no load that upsets balance (29 CFR
//! 1926.1053(b)), and the NIOSH lifting equation (DHHS (NIOSH) 94-110) doesn't cover ladders or stairs (from memory).

use super::notice::Notice;
use super::{Access, Job};
use crate::quantity::{Decimal, Division, Marks, Weight};

/// Whose hands a lift takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hands {
    /// One person's.
    One,
    /// Two people's.
    Two,
    /// Nobody's: it goes by a machine or on a line.
    Nobody,
}

/// A class of lifts: how something is carried that is no heavier than so much of what one person lifts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Lift {
    /// By which way; `None` where the job doesn't say.
    pub access: Option<Access>,
    /// Up to so many tenths of what one person lifts; `None` for whatever is heavier.
    tenths: Option<i64>,
    /// Whose hands.
    pub hands: Hands,
    /// Whether it takes a hoist, or smaller cylinders.
    pub hoist: bool,
    /// Beside a cylinder in a table, in few words; empty where one person carries it.
    pub brief: &'static str,
    /// In full.
    pub words: &'static str,
}

const fn lift(
    access: Option<Access>,
    tenths: Option<i64>,
    hands: Hands,
    brief: &'static str,
    words: &'static str,
) -> Lift {
    Lift { access, tenths, hands, hoist: false, brief, words }
}

/// A class that takes a hoist.
const fn hoisted(access: Access, brief: &'static str, words: &'static str) -> Lift {
    Lift { hoist: true, ..lift(Some(access), None, Hands::Nobody, brief, words) }
}

/// Every class: by way, then from light to heavy.
pub const LIFTS: [Lift; 12] = {
    use Access::{Hoist, Ladder, Level, Stairs};
    use Hands::{Nobody, One, Two};
    let hoist = "a hoist rated for at least the weight; sling or cradle, never by valve or guard unless it is made for \
                 that; tag line; nobody below";
    [
        lift(Some(Level), Some(10), One, "", "one person, better on a hand truck"),
        lift(
            Some(Level),
            Some(30),
            Two,
            "two people or a hand truck",
            "two people, or one with a hand truck, strapped upright",
        ),
        lift(Some(Level), None, Nobody, "truck and tail lift", "truck and tail lift, never by hand"),
        lift(Some(Stairs), Some(7), One, "", "one person, a hand on the rail"),
        lift(Some(Stairs), Some(10), Two, "two people", "two people"),
        lift(Some(Stairs), Some(20), Two, "two people and a stair truck", "two people and a stair truck"),
        hoisted(Stairs, "not by stairs", "not by stairs: lift, hoist or smaller cylinders"),
        lift(
            Some(Ladder),
            Some(10),
            Nobody,
            "on a line",
            "not in the hands: on a line from a fixed point, in a sling, nobody below",
        ),
        hoisted(
            Ladder,
            "powered hoist",
            "not in the hands: on a line from a fixed point by a powered hoist, in a sling, nobody below",
        ),
        hoisted(Hoist, "hoist", hoist),
        lift(None, Some(10), One, "", NOT_STATED),
        lift(None, None, Two, "over one person's lift", NOT_STATED),
    ]
};

const NOT_STATED: &str = "as the site allows: its `access` isn't stated";

/// The most that one person lifts where a job doesn't say: 50 lb. Common practice, no source; the load constant of the
/// NIOSH lifting equation (DHHS (NIOSH) 94-110), for an ideal lift, is 51 lb.
pub fn usual_one_person() -> Weight {
    Weight::pounds(Decimal::from(50))
}

/// What a job says of carrying.
#[derive(Debug, Clone, Copy)]
pub struct Carrying {
    access: Option<Access>,
    one_person: Weight,
}

impl Carrying {
    /// At a job.
    pub fn at(job: &Job) -> Self {
        Self { access: job.access, one_person: job.one_person.unwrap_or_else(usual_one_person) }
    }

    /// In the yard, which is taken for level ground, by the least that one person lifts at any of these jobs.
    pub fn in_yard(jobs: &[Job]) -> Self {
        let least = jobs.iter().map(|job| Self::at(job).one_person).min();
        Self { access: Some(Access::Level), one_person: least.unwrap_or_else(usual_one_person) }
    }

    /// How something of this weight is carried.
    pub fn lift(&self, gross: Weight) -> &'static Lift {
        let most = |lift: &Lift| lift.tenths.map(|tenths| self.one_person.times(Decimal::new(tenths, 1)));
        let fits = |lift: &&Lift| lift.access == self.access && most(lift).is_none_or(|most| gross <= most);
        // Every way ends with whatever is heavier.
        LIFTS.iter().find(fits).unwrap_or(&LIFTS[LIFTS.len() - 1])
    }

    /// Whether it goes by a hoist there. Where the job doesn't say how cylinders leave, it doesn't: level ground is counted.
    pub fn is_hoisted(&self, gross: Weight) -> bool {
        self.lift(gross).hoist
    }

    /// Whether that is more than one person's lift.
    pub fn is_over_one(&self, gross: Weight) -> bool {
        self.lift(gross).hands == Hands::Two || gross > self.one_person
    }
}

/// A cylinder that a job carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Carried<'a> {
    /// The cylinder.
    pub cylinder: &'a str,
    /// What it weighs on its way in or up; `None` where it stands there already.
    pub up: Option<Marks>,
    /// What it weighs on its way out or down.
    pub down: Marks,
}

/// What is to be known of a job's lifts: how they are carried, a line for each class that takes more than one person; the weight that one person lifts,
/// where it is assumed; and a crew that is too small. Their codes are `lift`, `one-person` and `crew`.
pub fn lifts(job: &Job, division: Division, carried: &[Carried]) -> Vec<Notice> {
    if carried.is_empty() {
        return Vec::new();
    }
    let carrying = Carrying::at(job);
    let mut found: Vec<Notice> = Vec::new();
    let mut add = |code, text| found.push(Notice { code, text });
    match job.access {
        None => add("lift", not_stated(division, carried)),
        Some(access) => classes(&carrying, division, access, carried).into_iter().for_each(|text| add("lift", text)),
    }
    if job.one_person.is_none() {
        let most = division.unit().text(usual_one_person());
        let text = format!("one person: {most}, as no `one_person` is stated (common practice, no source)");
        add("one-person", text);
    }
    let two = |marks: Marks| carrying.lift(division.weight(marks)).hands == Hands::Two;
    let two = carried.iter().filter(|one| one.up.is_some_and(two) || two(one.down));
    let two: Vec<&str> = two.map(|one| one.cylinder).collect();
    if job.crew == Some(1) && !two.is_empty() {
        let or = if job.access == Some(Access::Level) { ", or one with a hand truck" } else { "" };
        let text = format!("WARNING: the crew is 1, and these lifts take two people{or}: {}", two.join(", "));
        add("crew", text);
    }
    found
}

/// `access isn't stated: 46.0 lb`.
fn not_stated(division: Division, carried: &[Carried]) -> String {
    let heaviest = carried.iter().max_by_key(|one| one.down).map_or(("", 0), |one| (one.cylinder, one.down));
    let weight = division.text(heaviest.1);
    if carried.len() == 1 {
        return format!("access isn't stated: {weight}, {}", heaviest.0);
    }
    format!("access isn't stated: up to {weight}, {} the heaviest", heaviest.0)
}

/// So many cylinders are named one by one also where all are carried alike.
const FEW: usize = 6;

/// A class of the way up, where there is one, with the class of the way down: the cylinders of both and the heaviest.
struct Class<'a> {
    up: Option<&'static Lift>,
    down: &'static Lift,
    cylinders: Vec<&'a str>,
    heaviest: (Marks, Marks),
}

fn classes(carrying: &Carrying, division: Division, access: Access, carried: &[Carried]) -> Vec<String> {
    let mut classes: Vec<Class> = Vec::new();
    for one in carried {
        let lift = |marks: Marks| carrying.lift(division.weight(marks));
        let (up, down) = (one.up.map(lift), lift(one.down));
        let heaviest = (one.up.unwrap_or(0), one.down);
        match classes.iter_mut().find(|class| class.up == up && class.down == down) {
            Some(class) => {
                class.cylinders.push(one.cylinder);
                class.heaviest = (class.heaviest.0.max(heaviest.0), class.heaviest.1.max(heaviest.1));
            }
            None => classes.push(Class { up, down, cylinders: vec![one.cylinder], heaviest }),
        }
    }
    // Of one class alone there is nothing to tell apart.
    let all = carried.len();
    classes.iter().filter(|class| !class.is_for_one()).map(|class| class.text(division, access, all)).collect()
}

impl Class<'_> {
    /// One person carries it both ways: nothing has to be arranged.
    fn is_for_one(&self) -> bool {
        self.down.hands == Hands::One && self.up.is_none_or(|up| up.hands == Hands::One)
    }

    fn text(&self, division: Division, access: Access, all: usize) -> String {
        let (way, up, down) = match access {
            Access::Level => ("over level ground", "in", "out"),
            Access::Stairs => ("by stairs", "up", "down"),
            Access::Ladder => ("by ladder", "up", "down"),
            Access::Hoist => ("by hoist", "up", "down"),
        };
        let cylinders = match self.cylinders.len() {
            count if count == all && count > FEW => format!("all {count} cylinders"),
            _ => self.cylinders.join(", "),
        };
        let weight = |marks: Marks| division.text(marks);
        match self.up {
            Some(lift) if lift != self.down => format!(
                "{cylinders} {way}: {up}, to {}, {}; {down}, to {}, {}",
                weight(self.heaviest.0),
                lift.words,
                weight(self.heaviest.1),
                self.down.words
            ),
            up => {
                let both = if up.is_some() { "both ways" } else { down };
                format!(
                    "{cylinders} {way}, {both}, to {}: {}",
                    weight(self.heaviest.0.max(self.heaviest.1)),
                    self.down.words
                )
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hands(access: Option<Access>, one_person: i64, gross: i64) -> (Hands, &'static str) {
        let lift = Carrying { access, one_person: Weight::pounds(one_person.into()) };
        let lift = lift.lift(Weight::pounds(gross.into()));
        (lift.hands, lift.brief)
    }

    #[test]
    fn each_class_ends_where_practice_ends_it() {
        use Hands::{Nobody, One, Two};
        // By hand for 50 lb: 0.7 P = 35, 2 P = 100, 3 P = 150 lb.
        for (access, gross, expected) in [
            (Some(Access::Level), 50, (One, "")),
            (Some(Access::Level), 51, (Two, "two people or a hand truck")),
            (Some(Access::Level), 150, (Two, "two people or a hand truck")),
            (Some(Access::Level), 151, (Nobody, "truck and tail lift")),
            (Some(Access::Stairs), 35, (One, "")),
            (Some(Access::Stairs), 36, (Two, "two people")),
            (Some(Access::Stairs), 50, (Two, "two people")),
            (Some(Access::Stairs), 51, (Two, "two people and a stair truck")),
            (Some(Access::Stairs), 100, (Two, "two people and a stair truck")),
            (Some(Access::Stairs), 1_372, (Nobody, "not by stairs")),
            (Some(Access::Ladder), 1, (Nobody, "on a line")),
            (Some(Access::Ladder), 50, (Nobody, "on a line")),
            (Some(Access::Ladder), 57, (Nobody, "powered hoist")),
            (Some(Access::Hoist), 1_372, (Nobody, "hoist")),
            (None, 50, (One, "")),
            (None, 51, (Two, "over one person's lift")),
        ] {
            assert_eq!(hands(access, 50, gross), expected, "{access:?} {gross}");
        }
    }

    #[test]
    fn every_way_ends_with_whatever_is_heavier() {
        for access in Access::ALL.map(|(access, _)| Some(access)).into_iter().chain([None]) {
            let of_way: Vec<&Lift> = LIFTS.iter().filter(|lift| lift.access == access).collect();
            let limits: Vec<Option<i64>> = of_way.iter().map(|lift| lift.tenths).collect();
            assert_eq!(limits.last(), Some(&None), "{access:?}");
            assert!(limits[..limits.len() - 1].iter().all(Option::is_some) && limits.len() < 5);
            assert!(limits[..limits.len() - 1].is_sorted(), "{access:?}");
        }
    }
}
