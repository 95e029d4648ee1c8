//! The closed list of what can be wrong with a file. Scripts may rely on the names.

/// What is wrong, as a stable name. To add one: a variant, its line in `Code::line`, its place in [`CODES`], and a
/// wrong file of that name in `scenarios/wrong/`; a test compares them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Code {
    /// The file isn't there.
    MissingFile,
    /// The path names a folder.
    Folder,
    /// The file is there and can't be read.
    Unreadable,
    /// The file is longer than any of its kind.
    TooLarge,
    /// The file isn't UTF-8.
    NotText,
    /// Nothing is in the file.
    Empty,
    /// A yard of another kind than YAML or CSV.
    FileKind,
    /// Not YAML, JSON or CSV at all.
    Syntax,
    /// Nested deeper than any of our files.
    TooDeep,
    /// Aliases that stand for more than the file holds.
    Aliases,
    /// More than one YAML document.
    SeveralDocuments,
    /// A list where a value should stand, or the like.
    WrongShape,
    /// A key that isn't known here.
    UnknownKey,
    /// A key twice.
    DuplicateKey,
    /// A key that must be there.
    MissingKey,
    /// Keys that exclude each other.
    ConflictingKeys,
    /// A CSV row with more or fewer cells than the header.
    WrongColumns,
    /// A text too long or with characters that can't be shown.
    BadText,
    /// A word that isn't one of those known here.
    BadWord,
    /// Not a quantity of the kind expected.
    BadQuantity,
    /// A number whose unit can't be known.
    MissingUnit,
    /// A comma in a number.
    Comma,
    /// Less than nothing.
    Negative,
    /// Outside the range of anything real.
    OutOfRange,
    /// Not a date, or none that can be.
    BadDate,
    /// A tare and a water capacity that no cylinder has.
    DoubtfulStamp,
    /// Not a mark that is stamped on cylinders.
    BadMark,
    /// A division that the scale can't have.
    BadDivision,
    /// A refrigerant that is neither in the table nor in the job file.
    UnknownRefrigerant,
    /// Refrigerant data of a job file that can't be used.
    GivenRefrigerant,
    /// A gas that doesn't go into recovery cylinders.
    RefusedGas,
    /// A refrigerant for which no limit can be computed.
    NoLimit,
    /// A mixed charge without the names of what may be in it.
    UnidentifiedMix,
    /// Refrigerant for reuse that can't be reused.
    NoReuse,
    /// Contents given as `empty`.
    HoldsEmpty,
    /// Two cylinders of one id.
    DuplicateId,
    /// One name for two things.
    DuplicateName,
    /// A job without systems, or no job.
    NothingToDo,
    /// One job file twice.
    SameJob,
    /// Jobs planned together that name different yards.
    YardsDiffer,
    /// Jobs planned together in different units or divisions.
    UnitsDiffer,
    /// Jobs planned together for different days.
    DatesDiffer,
    /// A plan file of another format.
    PlanFormat,
    /// So many rows that can't be read that the rest wasn't looked at.
    TooMany,
    /// A weight of a plan file that isn't a whole number of its divisions.
    OffDivision,
}

/// Every code.
pub const CODES: &[Code] = &[
    Code::MissingFile,
    Code::Folder,
    Code::Unreadable,
    Code::TooLarge,
    Code::NotText,
    Code::Empty,
    Code::FileKind,
    Code::Syntax,
    Code::TooDeep,
    Code::Aliases,
    Code::SeveralDocuments,
    Code::WrongShape,
    Code::UnknownKey,
    Code::DuplicateKey,
    Code::MissingKey,
    Code::ConflictingKeys,
    Code::WrongColumns,
    Code::BadText,
    Code::BadWord,
    Code::BadQuantity,
    Code::MissingUnit,
    Code::Comma,
    Code::Negative,
    Code::OutOfRange,
    Code::BadDate,
    Code::DoubtfulStamp,
    Code::BadMark,
    Code::BadDivision,
    Code::UnknownRefrigerant,
    Code::GivenRefrigerant,
    Code::RefusedGas,
    Code::NoLimit,
    Code::UnidentifiedMix,
    Code::NoReuse,
    Code::HoldsEmpty,
    Code::DuplicateId,
    Code::DuplicateName,
    Code::NothingToDo,
    Code::SameJob,
    Code::YardsDiffer,
    Code::UnitsDiffer,
    Code::DatesDiffer,
    Code::PlanFormat,
    Code::TooMany,
    Code::OffDivision,
];

impl Code {
    /// Its name in messages.
    pub const fn name(self) -> &'static str {
        self.line().0
    }

    /// What it means, in one line.
    pub const fn meaning(self) -> &'static str {
        self.line().1
    }

    const fn line(self) -> (&'static str, &'static str) {
        match self {
            Self::MissingFile => ("missing-file", "the file isn't there"),
            Self::Folder => ("folder", "the path names a folder, not a file"),
            Self::Unreadable => ("unreadable", "the file is there and can't be read"),
            Self::TooLarge => ("too-large", "the file is longer than any of its kind"),
            Self::NotText => ("not-text", "the file isn't UTF-8 text"),
            Self::Empty => ("empty-file", "nothing is in the file"),
            Self::FileKind => ("file-kind", "a yard is a .yaml, .yml or .csv file"),
            Self::Syntax => ("syntax", "the file isn't YAML, JSON or CSV"),
            Self::TooDeep => ("too-deep", "nested deeper than any of these files"),
            Self::Aliases => ("aliases", "aliases stand for more than the file holds"),
            Self::SeveralDocuments => ("several-documents", "more than one YAML document in the file"),
            Self::WrongShape => ("wrong-shape", "a list, a map or a value where another of them is expected"),
            Self::UnknownKey => ("unknown-key", "a key that isn't known here"),
            Self::DuplicateKey => ("duplicate-key", "a key given twice"),
            Self::MissingKey => ("missing-key", "a key that has to be there isn't"),
            Self::ConflictingKeys => ("conflicting-keys", "keys that exclude each other"),
            Self::WrongColumns => ("wrong-columns", "a CSV row with more or fewer cells than the header"),
            Self::BadText => ("bad-text", "a text that is empty, too long, or has characters that don't show"),
            Self::BadWord => ("bad-word", "a word that isn't one of the words known here"),
            Self::BadQuantity => ("bad-quantity", "not a number with a unit of the kind expected"),
            Self::MissingUnit => ("missing-unit", "a number whose unit can't be known"),
            Self::Comma => ("comma", "a comma in a number"),
            Self::Negative => ("negative", "a quantity less than nothing"),
            Self::OutOfRange => ("out-of-range", "a number outside the range of anything real"),
            Self::BadDate => ("bad-date", "not a date, or a date that can't be"),
            Self::DoubtfulStamp => ("doubtful-stamp", "a tare and a water capacity that no cylinder has"),
            Self::BadMark => ("bad-mark", "not a mark that is stamped on cylinders"),
            Self::BadDivision => ("bad-division", "a division that the job's scale can't have"),
            Self::UnknownRefrigerant => ("unknown-refrigerant", "a refrigerant that nobody described"),
            Self::GivenRefrigerant => ("given-refrigerant", "refrigerant data of the job file that can't be used"),
            Self::RefusedGas => ("refused-gas", "a gas that doesn't go into recovery cylinders"),
            Self::NoLimit => ("no-limit", "a refrigerant for which no limit can be computed"),
            Self::UnidentifiedMix => ("unidentified-mix", "a mixed charge without the names of what may be in it"),
            Self::NoReuse => ("no-reuse", "refrigerant for reuse that can't be reused"),
            Self::HoldsEmpty => ("holds-empty", "contents given as empty, which may mean three things"),
            Self::DuplicateId => ("duplicate-id", "two cylinders of one id"),
            Self::DuplicateName => ("duplicate-name", "one name for two things"),
            Self::NothingToDo => ("nothing-to-do", "a job without systems, or no job"),
            Self::SameJob => ("same-job", "one job file given twice"),
            Self::YardsDiffer => ("yards-differ", "jobs planned together don't share one yard file"),
            Self::UnitsDiffer => ("units-differ", "jobs planned together have different units or divisions"),
            Self::DatesDiffer => ("dates-differ", "jobs planned together are for different days"),
            Self::PlanFormat => ("plan-format", "a plan file of another format"),
            Self::TooMany => ("too-many", "so many rows can't be read that the rest wasn't looked at"),
            Self::OffDivision => ("off-division", "a weight that isn't a whole number of divisions"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_list_is_complete_and_its_names_are_distinct() {
        assert_eq!(CODES.len(), Code::OffDivision as usize + 1, "a variant isn't in the list");
        for (index, code) in CODES.iter().enumerate() {
            assert_eq!(*code as usize, index);
            assert!(CODES[..index].iter().all(|other| other.name() != code.name()));
        }
    }
}
