//! What the audit can find: the closed list of faults, each with its code and its sentence.
//!
//! To add one: its line in the list, the rule that finds it, and a spoiled plan in the tests that shows it.

use std::fmt;

use crate::cylinder::Id;

/// Writes the catalogue once: the variant, its stable code, and its sentence.
macro_rules! catalogue {
    ($($kind:ident $code:literal $sentence:literal,)*) => {
        /// A kind of fault.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub(super) enum FaultKind { $(#[doc = $sentence] $kind,)* }

        impl FaultKind {
            /// Its stable code and its sentence.
            const fn words(self) -> (&'static str, &'static str) {
                match self { $(Self::$kind => ($code, $sentence),)* }
            }
        }

        /// Every fault that the audit can find: its stable code and its sentence.
        pub const FAULTS: &[(&str, &str)] = &[$(($code, $sentence),)*];
    };
}

catalogue! {
    Jobs "jobs" "the plan is for other jobs",
    Division "division" "the plan counts in another scale division, so that none of its weights can be checked",
    LotTwice "lot-twice" "two lots have the same name",
    LotEmpty "lot-empty" "a lot has no system of these jobs",
    UnknownSystem "unknown-system" "a lot has a system that the jobs don't have",
    SystemTwice "system-twice" "a system stands in the lots more than once",
    SystemMissing "system-missing" "a system stands in no lot",
    LotMixes "lot-mixes" "a lot joins systems whose refrigerant may not share a cylinder",
    LotSplit "lot-split" "systems whose refrigerant may share cylinders stand in different lots",
    LotRefrigerant "lot-refrigerant" "the lot's refrigerant isn't that of its systems",
    LotCharge "lot-charge" "the lot's charge isn't the sum over its systems, rounded up once",
    LotRoom "lot-room" "the lot's room isn't the sum over its cylinders",
    LotSpare "lot-spare" "the lot's spare room isn't its room beyond its charge",
    LotPlaced "lot-placed" "what goes into cylinders isn't the lot's charge less what is missing",
    SystemPlaced "system-placed" "what comes from a system isn't its part of the lot's charge",
    Order "order" "the loads aren't numbered 1, 2, 3 and so on",
    UnknownCylinder "unknown-cylinder" "the yard has no such cylinder",
    CylinderTwice "cylinder-twice" "a cylinder is filled more than once",
    UnknownLot "unknown-lot" "the plan has no such lot",
    Refrigerant "refrigerant" "the load's refrigerant isn't that of its lot",
    Marks "marks" "the load's marks aren't those of what will be in the cylinder",
    Now "now" "the reading before isn't the cylinder's gross weight, rounded up",
    Add "add" "a load adds nothing",
    Stop "stop" "the stop weight isn't now + add",
    LimitOver "limit-over" "the limit is stated too high",
    LimitUnder "limit-under" "the limit is stated too low",
    StopOverLimit "stop-over-limit" "DANGER: the stop weight passes the limit less the scale's accuracy",
    StopOverLift "stop-over-lift" "the stop weight passes the site's lift limit",
    StopOverScale "stop-over-scale" "the stop weight passes the scale's capacity",
    Ceiling "ceiling" "what is said to bound the cylinder isn't what does",
    LiquidFull "liquid-full" "the temperature at which the cylinder is full of liquid is wrong",
    Unfit "unfit" "the cylinder may not take this lot",
    ShareSum "share-sum" "the systems' shares don't add up to the load",
    ShareSize "share-size" "a system's share of a load is nothing",
    ShareSystem "share-system" "a share comes from a system that isn't of the lot",
    PourChain "pour-chain" "a pour doesn't begin where the one before ends, or the first and last not where the load does",
    PourAdd "pour-add" "what a pour adds isn't the difference of its readings",
    PourTwice "pour-twice" "a system is connected to a cylinder more than once",
    VapourLast "vapour-last" "the pour marked as a system's last isn't its last",
    EaseOff "ease-off" "the reading to fill slowly from is neither 3 lb (1.4 kg) before the stop nor the first",
    TotalCylinders "total-cylinders" "the number of cylinders is wrong",
    TotalHeaviest "total-heaviest" "the heaviest lift is wrong",
    TotalCarried "total-carried" "the weight carried is wrong",
    TotalPours "total-pours" "the number of pours is wrong",
    TotalMissing "total-missing" "what stays isn't what is missing of the lots together",
    BoundCylinders "bound-cylinders" "fewer cylinders than the lower bound says",
    BoundHeaviest "bound-heaviest" "a heaviest lift below its lower bound",
    BoundCarried "bound-carried" "less carried than the lower bound says",
    BoundPours "bound-pours" "fewer pours than the lower bound says",
    BoundMissing "bound-missing" "less missing than the lower bound says",
    Proof "proof" "said to be proved, but a bound leaves something open",
    StatusShort "status-short" "short and what is missing contradict each other",
    StatusUndecided "status-undecided" "said to be undecided, but cylinders are filled",
    ShortTwice "short-twice" "what is missing of a lot is stated more than once",
    Missing "missing" "what is missing isn't a part of the lot's charge",
    Remedy "remedy" "what to do about a shortage is said, and nothing is missing",
    RemedyMissing "remedy-missing" "what is left over once cylinders are evacuated is wrong",
    Evacuate "evacuate" "a cylinder is to be evacuated that nitrogen alone doesn't keep from a lot",
    ShortRoom "short-room" "something is missing, though a cylinder that may take it has room",
    ListedTwice "listed-twice" "a cylinder stands in more than one place of the plan",
    CylinderMissing "cylinder-missing" "a cylinder of the yard stands nowhere in the plan",
    LeftOutFit "left-out-fit" "a cylinder is left out that may take a lot",
    ReasonUnknown "reason-unknown" "no rule has this code",
    ReasonWrong "reason-wrong" "the cylinder keeps the rule that it is left out for",
    ReasonMissing "reason-missing" "a rule that the cylinder breaks isn't among the reasons",
    NotNeededUnfit "not-needed-unfit" "a cylinder is said to be usable that may take no lot",
    LedgerWeight "ledger-weight" "a cylinder doesn't weigh what the ledger's entries come to",
    LedgerContents "ledger-contents" "a cylinder doesn't hold what the ledger's entries come to",
    LedgerBound "ledger-bound" "whether another job has the cylinder isn't what the ledger's entries come to",
    LedgerDoubt "ledger-doubt" "whether anybody knows of the cylinder isn't what the ledger's entries come to",
    LedgerOut "ledger-out" "whether the cylinder is out isn't what the ledger's entries come to",
    LedgerChanged "ledger-changed" "whether its row was changed by hand isn't what the ledger's entries come to",
    LedgerMixed "ledger-mixed" "DANGER: whether what is in it may be together isn't what the ledger's entries come to",
    LedgerOurs "ledger-ours" "whether we put something in isn't what the ledger's entries come to",
    Danger "danger" "DANGER: a cylinder over its limit as it stands isn't shown as such",
}

/// Something wrong with a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Its code, one of [`FAULTS`].
    pub code: &'static str,
    /// The cylinder that it is about.
    pub cylinder: Option<Id>,
    /// The lot that it is about.
    pub lot: Option<String>,
    /// The system that it is about.
    pub system: Option<String>,
    /// What the input gives, in words or with a unit.
    pub expected: String,
    /// What the plan says. For `unfit`, the code of the fitness rule that is broken.
    pub got: String,
    /// The sentence of the code, without place and figures.
    pub text: &'static str,
}

impl Fault {
    /// A fault with what was expected and what the plan says instead.
    pub(super) fn new(kind: FaultKind, expected: impl fmt::Display, got: impl fmt::Display) -> Self {
        let (code, text) = kind.words();
        Self {
            code,
            cylinder: None,
            lot: None,
            system: None,
            expected: expected.to_string(),
            got: got.to_string(),
            text,
        }
    }

    pub(super) fn of_cylinder(self, cylinder: &Id) -> Self {
        let cylinder = Some(cylinder.clone());
        Self { cylinder, ..self }
    }

    pub(super) fn of_lot(self, lot: &str) -> Self {
        let lot = Some(lot.into());
        Self { lot, ..self }
    }

    pub(super) fn of_system(self, system: &str) -> Self {
        let system = Some(system.into());
        Self { system, ..self }
    }
}

impl fmt::Display for Fault {
    /// The whole finding in a line: place, sentence, expected and got.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let cylinder = self.cylinder.as_ref().map(Id::as_str);
        let places = [("cylinder", cylinder), ("lot", self.lot.as_deref()), ("system", self.system.as_deref())];
        for (what, name) in places {
            if let Some(name) = name {
                write!(f, "{what} {name}: ")?;
            }
        }
        write!(f, "{}: expected {}, got {}", self.text, self.expected, self.got)
    }
}
