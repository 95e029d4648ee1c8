//! Files that another program has open.
//!
//! On Windows such a file can't be replaced, and where the program wants it so nobody else reads it. A virus scanner, a program
//! for synchronising or a reader of ours lets go of it in a moment; a spreadsheet when somebody closes it.

use std::io;
use std::time::Duration;

/// How often something is tried on a file that another program has open, and how long is waited between two tries: 3 s in all.
const TRIES: u32 = 60;
const BETWEEN: Duration = Duration::from_millis(50);

/// Windows' numbers for a file that can't be opened: ERROR_SHARING_VIOLATION, ERROR_LOCK_VIOLATION.
pub(super) const TO_OPEN: &[i32] = &[32, 33];
/// For one that can't be replaced: ERROR_ACCESS_DENIED, too. To open it that is a lack of rights.
pub(super) const TO_REPLACE: &[i32] = &[5, 32, 33];

/// Does this, again while another program has the file open, 3 s at the most.
///
/// # Errors
/// As the system gives them, with what to do where it may be another program.
pub(super) fn patiently<T>(held: &[i32], act: impl FnMut() -> io::Result<T>) -> io::Result<T> {
    let is_held = |error: &io::Error| cfg!(windows) && error.raw_os_error().is_some_and(|code| held.contains(&code));
    while_held(TRIES, is_held, act)
}

fn while_held<T>(
    tries: u32,
    is_held: impl Fn(&io::Error) -> bool,
    mut act: impl FnMut() -> io::Result<T>,
) -> io::Result<T> {
    for _ in 1..tries {
        match act() {
            Err(error) if is_held(&error) => std::thread::sleep(BETWEEN),
            done => return done,
        }
    }
    act().map_err(|error| {
        let words = format!("{error}; another program may have it open: close it there, and do this again");
        if is_held(&error) { io::Error::new(error.kind(), words) } else { error }
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn whoever_lets_go_in_time_is_waited_for_and_whoever_does_not_is_said() {
        let held = |error: &io::Error| error.raw_os_error() == Some(32);
        let after = |count: u32, code: i32| {
            let mut tried = 0;
            let done = while_held(3, held, || {
                tried += 1;
                if tried > count { Ok(()) } else { Err(io::Error::from_raw_os_error(code)) }
            });
            (tried, done.map_err(|error| error.to_string()))
        };
        assert_eq!(after(0, 32), (1, Ok(())));
        assert_eq!(after(2, 32), (3, Ok(())));
        let (tried, said) = after(9, 32);
        assert!(tried == 3 && said.clone().unwrap_err().contains("close it there"), "{said:?}");
        let (tried, said) = after(9, 2);
        assert!(tried == 1 && !said.clone().unwrap_err().contains("close it there"), "{said:?}");
    }

    /// As a spreadsheet has it, and as one that reads alone.
    #[cfg(windows)]
    #[test]
    fn a_file_that_another_program_has_open_is_not_replaced_and_waited_for() {
        use std::fs::{self, OpenOptions};
        use std::os::windows::fs::OpenOptionsExt;

        use crate::disk::{bytes, may_replace, write_whole};

        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("yard.csv");
        fs::write(&file, "old").unwrap();
        let hold = |share: u32| OpenOptions::new().read(true).share_mode(share).open(&file).unwrap();
        for share in [0, 1, 3] {
            let held = hold(share);
            for refused in [write_whole(&file, "new"), may_replace(&file)] {
                assert!(refused.unwrap_err().to_string().contains("close it there"), "{share}");
            }
            assert_eq!(bytes(&file).is_ok(), share > 0);
            drop(held);
            assert_eq!(fs::read(&file).unwrap(), b"old");
            let held = hold(share);
            std::thread::scope(|scope| {
                scope.spawn(|| {
                    std::thread::sleep(BETWEEN * 5);
                    drop(held);
                });
                write_whole(&file, "new").unwrap();
            });
            assert_eq!(bytes(&file).unwrap(), b"new");
            fs::write(&file, "old").unwrap();
        }
        // A reader of ours, which lets others replace it: some systems do that at once, others when it has ended.
        let held = hold(7);
        may_replace(&file).unwrap();
        std::thread::scope(|scope| {
            scope.spawn(|| {
                std::thread::sleep(BETWEEN * 5);
                drop(held);
            });
            write_whole(&file, "new").unwrap();
        });
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}
