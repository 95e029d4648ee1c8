//! See `bodies::entries`.
#![no_main]

mod bodies;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| bodies::in_a_folder(bodies::entries, bytes));
