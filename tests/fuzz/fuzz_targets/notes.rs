//! See `bodies.rs`.
#![no_main]

libfuzzer_sys::fuzz_target!(|data: &[u8]| wythe_fuzz::notes(data));
