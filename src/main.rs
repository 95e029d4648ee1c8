//! The exit status, nothing else.
fn main() {}
