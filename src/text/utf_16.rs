//! UTF-16 behind a byte-order mark: what a spreadsheet calls Unicode text, and what the older shell of Windows makes of
//! whatever goes into a file by `>`.

/// What it is called, with its lower byte first or last.
pub const UTF_16LE: &str = "UTF-16LE";
pub const UTF_16BE: &str = "UTF-16BE";

/// The text of bytes that begin with a mark, and how they are called; `None` where they don't begin with one.
pub fn marked(bytes: &[u8]) -> Option<Result<(String, &'static str), &'static str>> {
    let little = bytes.strip_prefix(b"\xFF\xFE").map(|rest| (rest, u16::from_le_bytes as fn([u8; 2]) -> u16, UTF_16LE));
    let big = || bytes.strip_prefix(b"\xFE\xFF").map(|rest| (rest, u16::from_be_bytes as _, UTF_16BE));
    let (rest, of_bytes, name) = little.or_else(big)?;
    Some(utf_16(rest, of_bytes).map(|text| (text, name)))
}

/// The text of these units.
///
/// # Errors
/// Why it is none.
pub fn utf_16(bytes: &[u8], of_bytes: fn([u8; 2]) -> u16) -> Result<String, &'static str> {
    let (units, rest) = bytes.as_chunks::<2>();
    let units: Vec<u16> = units.iter().map(|unit| of_bytes(*unit)).collect();
    let text = String::from_utf16(&units).ok().filter(|_| rest.is_empty());
    text.filter(|text| !text.contains('\0')).ok_or("it begins like UTF-16 and isn't")
}
