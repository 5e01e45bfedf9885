//! Any bytes at all.

#![no_main]

mod checks;

libfuzzer_sys::fuzz_target!(|input: &[u8]| {
    let (choice, program) = input.split_first().unwrap_or((&0, &[]));
    checks::check(*choice, program);
});
