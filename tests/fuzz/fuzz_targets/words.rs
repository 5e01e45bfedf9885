//! Words that mean something, in any order: gets past the reader and deep into the interpreter.

#![no_main]

mod checks;

use arbitrary::Arbitrary;
use std::fmt::Write;

#[derive(Arbitrary, Debug)]
enum Word {
    G(u8),
    M(u8),
    Axis(u8, i16),
    Fine(u8, i32),
    Setting(u8, i16),
    Parameter(u8, u8),
    Sum(u8, i8, u8, i8),
    LineEnd,
    Start,
}

const G: [&str; 41] = [
    "0", "0", "1", "1", "2", "3", "4", "10", "17", "18", "19", "20", "21", "28", "30", "40", "43",
    "49", "53", "54", "55", "59.3", "61", "61.1", "64", "80", "81", "82", "83", "90", "91", "92",
    "92.1", "92.2", "92.3", "93", "94", "98", "99", "38.2", "5",
];
const M: [u8; 14] = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 30, 48, 49, 60];
const LETTERS: &[u8] = b"XYZXYZIJKRFSTPQLHABCDN";
const BETWEEN: [&str; 8] = ["+", "-", "*", "/", "**", " MOD ", " OR ", " AND "];

libfuzzer_sys::fuzz_target!(|input: (u8, Vec<Word>)| {
    let (choice, words) = input;
    let mut text = String::new();
    let letter = |n: u8| char::from(LETTERS[usize::from(n) % LETTERS.len()]);
    for word in words {
        let written = match word {
            Word::G(n) => write!(text, "G{} ", G[usize::from(n) % G.len()]),
            Word::M(n) => write!(text, "M{} ", M[usize::from(n) % M.len()]),
            Word::Axis(n, value) => write!(text, "{}{value} ", letter(n)),
            Word::Fine(n, value) => write!(text, "{}{:.3} ", letter(n), f64::from(value) / 1000.0),
            Word::Setting(n, value) => write!(text, "#{n}={value} "),
            Word::Parameter(n, number) => write!(text, "{}#{number} ", letter(n)),
            Word::Sum(n, left, sign, right) => {
                let sign = BETWEEN[usize::from(sign) % BETWEEN.len()];
                write!(text, "{}[{left}{sign}{right}] ", letter(n))
            }
            Word::LineEnd => writeln!(text),
            Word::Start => write!(text, "\nG21 G90 G94 F100 T1 M6 S3000 M3\nG0 Z20\n"),
        };
        written.expect("a string takes all that is written");
    }
    checks::check(choice, text.as_bytes());
});
