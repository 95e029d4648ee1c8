//! The exit status, nothing else.

use std::io;
use std::process::ExitCode;

fn main() -> ExitCode {
    let exit = chargesplit::cli::run(std::env::args_os(), &mut io::stdout().lock(), &mut io::stderr().lock());
    ExitCode::from(exit as u8)
}
