//! One line of a ledger: an entry or a head as JSON, with the check sum of all that stands before it in the line.
//!
//! The sum finds accidents, not forgers: CRC-32 finds every change that lies within four bytes, and of all others all but
//! one in four thousand million.

use serde::de::IgnoredAny;
use serde::{Deserialize, Serialize};

use serde_json::value::RawValue;

use super::forms::{formed, mapped};
use crate::cylinder::Id;
use crate::ledger::{Entry, EntryId, JobId, Moment, Row, What};

/// What a head says first. A change of the number makes files that older programs must not believe.
const FORMAT: &str = "chargesplit-ledger/1";
/// What every number of the format begins with.
const ANY_FORMAT: &str = "chargesplit-ledger/";
/// What stands between a line's text and its sum, and behind it.
const BEFORE_SUM: &str = ",\"sum\":\"";
const BEHIND_SUM: &str = "\"}";
/// Digits of a sum.
const DIGITS: usize = 8;

/// For how many lines back a line says which cylinders they spoke of, so that a gap has names.
pub(super) const LOOKS_BACK: usize = 16;

/// The check sum of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct Sum(u32);

impl Sum {
    fn of(text: &[u8]) -> Self {
        Self(crc32fast::hash(text))
    }

    pub fn parse(text: &[u8]) -> Option<Self> {
        let digit = |byte: &u8| byte.is_ascii_digit() || matches!(byte, b'a'..=b'f');
        let text =
            std::str::from_utf8(text).ok().filter(|text| text.len() == DIGITS && text.bytes().all(|b| digit(&b)))?;
        u32::from_str_radix(text, 16).ok().map(Self)
    }
}

impl std::fmt::Display for Sum {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        write!(f, "{:08x}", self.0)
    }
}

/// A file's head: whose it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WriterHead {
    /// The id of the ledger.
    pub ledger: String,
    /// Who writes the file.
    pub writer: String,
    /// The tag of the file, with which the names of its entries begin.
    pub tag: String,
}

impl WriterHead {
    /// The head that a file begins with, where it is one that can be believed.
    pub fn of(bytes: &[u8]) -> Option<Self> {
        let line = bytes.split(|byte| *byte == b'\n').next()?;
        match read(trimmed(line)) {
            Ok(LedgerLine::Head(head, _)) => Some(head),
            _ => None,
        }
    }
}

/// A line without what an editor puts around it: a byte-order mark, a return.
pub(super) fn trimmed(line: &[u8]) -> &[u8] {
    let line = line.strip_prefix("\u{FEFF}".as_bytes()).unwrap_or(line);
    line.strip_suffix(b"\r").unwrap_or(line)
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct HeadLine {
    format: String,
    ledger: String,
    writer: String,
    tag: String,
    /// Compared before anything is read.
    #[serde(rename = "sum", skip_serializing)]
    _sum: IgnoredAny,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct EntryLine {
    #[serde(with = "formed")]
    id: EntryId,
    #[serde(with = "formed")]
    at: Moment,
    by: String,
    #[serde(with = "formed", default, skip_serializing_if = "Option::is_none")]
    job: Option<JobId>,
    #[serde(with = "mapped")]
    on: Vec<(Id, Vec<EntryId>)>,
    #[serde(with = "formed", default, skip_serializing_if = "Vec::is_empty")]
    rows: Vec<Row>,
    #[serde(with = "formed")]
    what: What,
    /// The cylinders that the lines before spoke of: read only where one of those lines isn't there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    past: Option<Box<RawValue>>,
    #[serde(with = "formed")]
    after: Sum,
    /// Compared before anything is read.
    #[serde(rename = "sum", skip_serializing)]
    _sum: IgnoredAny,
}

/// A line that can be believed.
pub(super) enum LedgerLine {
    Head(WriterHead, Sum),
    /// A head of a version of the program that is newer.
    Newer,
    Entry(Box<Recorded>),
}

/// An entry with what its line says of the lines before.
#[derive(Debug)]
pub(super) struct Recorded {
    pub entry: Entry,
    past: Option<Box<RawValue>>,
    pub after: Sum,
    pub sum: Sum,
}

/// For each cylinder the lines before this one that spoke of it: the lowest bit is for the line right before.
#[derive(Serialize, Deserialize)]
#[serde(transparent)]
pub(super) struct Past(#[serde(with = "mapped")] pub Vec<(String, u16)>);

impl Recorded {
    /// The cylinders of the line that stands so many lines before the one right before this.
    pub fn spoke_of(&self, back: u32) -> Vec<Id> {
        let past = self.past.as_ref().and_then(|past| serde_json::from_str(past.get()).ok());
        let Past(past) = past.unwrap_or(Past(Vec::new()));
        let bit = 1_u16.checked_shl(back).unwrap_or(0);
        past.iter().filter(|(_, lines)| lines & bit != 0).map(|(id, _)| Id::from(id.as_str())).collect()
    }
}

/// A head as a line without its end.
pub(super) fn write_head(head: &WriterHead) -> (String, Sum) {
    let WriterHead { ledger, writer, tag } = head.clone();
    with_sum(&HeadLine { format: FORMAT.into(), ledger, writer, tag, _sum: IgnoredAny })
}

/// An entry as a line without its end.
pub(super) fn write(entry: &Entry, past: Past, after: Sum) -> (String, Sum) {
    let past = (!past.0.is_empty()).then(|| serde_json::value::to_raw_value(&past).ok()).flatten();
    let Entry { id, at, by, job, on, rows, what } = entry.clone();
    with_sum(&EntryLine { id, at, by, job, on, rows, what, past, after, _sum: IgnoredAny })
}

fn with_sum(line: &impl Serialize) -> (String, Sum) {
    // Texts and numbers alone: there is nothing that JSON couldn't hold.
    let mut text = serde_json::to_string(line).unwrap_or_default();
    text.truncate(text.len().saturating_sub(1));
    let sum = Sum::of(text.as_bytes());
    (format!("{text}{BEFORE_SUM}{sum}{BEHIND_SUM}"), sum)
}

/// Reads a line without its end.
///
/// # Errors
/// Why it can't be believed.
pub(super) fn read(line: &[u8]) -> Result<LedgerLine, String> {
    let sum = checked(line).ok_or("its check sum isn't that of its text: something has changed it")?;
    if line.starts_with(br#"{"format":"#) {
        return head(line, sum);
    }
    let line = std::str::from_utf8(line).map_err(|error| error.to_string())?;
    let read: EntryLine = serde_json::from_str(line).map_err(|error| newer(&error))?;
    let EntryLine { id, at, by, job, on, rows, what, past, after, _sum: _ } = read;
    if past.as_ref().is_some_and(|past| !past.get().starts_with('{')) {
        return Err("`past` is no map".into());
    }
    Ok(LedgerLine::Entry(Box::new(Recorded { entry: Entry { id, at, by, job, on, rows, what }, past, after, sum })))
}

fn head(line: &[u8], sum: Sum) -> Result<LedgerLine, String> {
    #[derive(Deserialize)]
    struct Format {
        format: String,
    }
    let Format { format } = serde_json::from_slice(line).map_err(|error| newer(&error))?;
    if format != FORMAT {
        return if format.starts_with(ANY_FORMAT) {
            Ok(LedgerLine::Newer)
        } else {
            Err(format!("`{format}` is no ledger"))
        };
    }
    let HeadLine { ledger, writer, tag, .. } = serde_json::from_slice(line).map_err(|error| newer(&error))?;
    Ok(LedgerLine::Head(WriterHead { ledger, writer, tag }, sum))
}

fn newer(error: &serde_json::Error) -> String {
    format!("it is whole, but this version can't read it; a newer one may have written it ({error})")
}

/// The sum that a line ends with, where it is that of its text.
fn checked(line: &[u8]) -> Option<Sum> {
    let rest = line.strip_suffix(BEHIND_SUM.as_bytes())?;
    let (text, sum) = rest.split_at_checked(rest.len().checked_sub(DIGITS)?)?;
    let text = text.strip_suffix(BEFORE_SUM.as_bytes())?;
    Sum::parse(sum).filter(|sum| *sum == Sum::of(text))
}

/// Whether a line without its end is a whole one that is as it was written.
pub fn is_whole_line(line: &[u8]) -> bool {
    checked(line).is_some()
}

/// The same head of a later format.
#[cfg(test)]
pub(super) fn with_other_format(head: &str) -> String {
    let text = head.replace(FORMAT, "chargesplit-ledger/2");
    let text = text.split(BEFORE_SUM).next().unwrap_or_default();
    format!("{text}{BEFORE_SUM}{}{BEHIND_SUM}", Sum::of(text.as_bytes()))
}
