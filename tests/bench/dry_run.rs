//! One million lines of drilling, spelled out: read, interpreted, checked and timed, beside what others
//! take only to cut the same text into tokens.
//!
//! First ten times as many lines as a stream, which nothing keeps: the memory of a rehearsal alone.
//!
//! `cargo bench --bench dry_run -- [LINES] [--runs N]`; the median of N runs counts. Processor
//! time is taken where the system tells it, so that what else the machine does weighs little.

#[path = "clock.rs"]
mod clock;

use bradawl::{
    diag::Source,
    machine,
    sim::{Setting, rehearse},
};
use gcode::core::{
    BlockVisitor, CommandVisitor, ControlFlow, Diagnostics, HasDiagnostics, Noop, Number,
    ProgramVisitor, Span, Value,
};
use std::{
    fmt::Write,
    hint::black_box,
    io::{BufReader, Read},
};

const MACHINE: &str = include_str!("../../machines/bench-router.toml");

/// Places in the bed's clear part, `G0` over, `G0` down to the work, `G1` in, `G0` out.
const HEAD: &str = "(drilling, spelled out)\n(work 800 x 500 x 12 mm)\nG21 G17 G90 G94 G54\nM5\n\
    G0 Z20.000\nT1\nM0\nS3000\nM3\nG4 P3.000\nF300.000\n";
const TAIL: &str = "M5\nG0 X0.000 Y0.000\nM2\n";

/// The three lines of hole `i`, without allocating once `out` has room.
fn hole(i: u64, out: &mut String) {
    let (x, y) = (60_000 + i * 7_919 % 700_000, 40_000 + i * 104_729 % 440_000);
    let [x, y] = [x, y].map(|um| (um / 1000, um % 1000));
    write!(out, "G0 X{}.{:03} Y{}.{:03}\nG1 Z-8.000\nG0 Z20.000\n", x.0, x.1, y.0, y.1)
        .expect("a string takes all that is written");
}

fn program(lines: u64) -> String {
    let mut text = HEAD.to_string();
    (0..lines / 3).for_each(|i| hole(i, &mut text));
    text + TAIL
}

/// A program of any length that is never in memory at once.
struct Endless {
    next: u64,
    end: u64,
    ready: String,
    given: usize,
}

impl Read for Endless {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        if self.given == self.ready.len() {
            self.ready.clear();
            self.given = 0;
            let until = self.end.min(self.next + 1000);
            (self.next..until).for_each(|i| hole(i, &mut self.ready));
            if self.next < self.end && until == self.end {
                self.ready.push_str(TAIL);
            }
            self.next = until;
        }
        let part = &self.ready.as_bytes()[self.given..];
        let length = part.len().min(buffer.len());
        buffer[..length].copy_from_slice(&part[..length]);
        self.given += length;
        Ok(length)
    }
}

/// Counts what the tokeniser hands out.
#[derive(Default)]
struct Tokens {
    count: u64,
    complaints: Noop,
}

struct Line<'a>(&'a mut Tokens);
struct Code<'a>(&'a mut Tokens);

impl HasDiagnostics for Tokens {
    fn diagnostics(&mut self) -> &mut dyn Diagnostics {
        &mut self.complaints
    }
}
impl HasDiagnostics for Line<'_> {
    fn diagnostics(&mut self) -> &mut dyn Diagnostics {
        &mut self.0.complaints
    }
}
impl HasDiagnostics for Code<'_> {
    fn diagnostics(&mut self) -> &mut dyn Diagnostics {
        &mut self.0.complaints
    }
}
impl ProgramVisitor for Tokens {
    fn start_block(&mut self) -> ControlFlow<impl BlockVisitor + '_> {
        ControlFlow::Continue(Line(self))
    }
}
impl BlockVisitor for Line<'_> {
    fn word_address(&mut self, _: char, value: Value<'_>, _: Span) {
        black_box(value);
        self.0.count += 1;
    }
    fn start_general_code(&mut self, _: Number) -> ControlFlow<impl CommandVisitor + '_> {
        self.0.count += 1;
        ControlFlow::Continue(Code(self.0))
    }
}
impl CommandVisitor for Code<'_> {
    fn argument(&mut self, _: char, value: Value<'_>, _: Span) {
        black_box(value);
        self.0.count += 1;
    }
}

/// The floor: cut at spaces, read every number with the standard library.
fn split_and_parse(text: &str) -> f64 {
    let words = text.lines().flat_map(str::split_ascii_whitespace);
    words.filter_map(|word| word.get(1..)?.parse::<f64>().ok()).sum()
}

fn main() {
    let mut arguments = std::env::args().skip(1).filter(|argument| argument != "--bench");
    let (mut lines, mut runs) = (1_000_000, 5);
    while let Some(argument) = arguments.next() {
        match argument.as_str() {
            "--runs" => {
                runs = arguments.next().and_then(|n| n.parse().ok()).expect("--runs N");
            }
            number => lines = number.parse().expect("LINES is a whole number"),
        }
    }
    let source = Source { name: "bench-router.toml".into(), text: MACHINE.into() };
    let machine = machine::read("bench-router", &source).expect("the demo machine is right");
    let setting = Setting { machine: &machine, work: None };
    let holes = lines * 10 / 3;
    let stream = Endless { next: 0, end: holes, ready: HEAD.to_string(), given: 0 };
    let start = clock::spent();
    let rehearsal = rehearse(BufReader::with_capacity(1 << 16, stream), &setting, |_| {})
        .expect("a stream of our own");
    assert_eq!(rehearsal.holes, holes);
    let speed = rehearsal.lines as f64 / (clock::spent() - start) / 1e6;
    println!(
        "{} lines streamed, {speed:.2} M lines/s with the making of them; {}",
        rehearsal.lines,
        memory()
    );

    let text = program(lines);
    let count = text.lines().count() as f64;
    println!("{count} lines, {} bytes, median of {runs} runs, least and most", text.len());
    println!("| what | M lines/s | least | most | MB/s |");
    println!("| --- | --- | --- | --- | --- |");
    let rehearsed = || {
        let rehearsal = rehearse(text.as_bytes(), &setting, |_| {}).expect("reading from memory");
        assert_eq!(rehearsal.faults, [], "the bench's program is clean");
        black_box(rehearsal);
    };
    let tokens = || {
        let mut tokens = Tokens::default();
        gcode::core::parse(&text, &mut tokens);
        assert!(tokens.count > 2 * lines, "it saw every word");
    };
    let other_tokens = || {
        black_box(g_code::parse::file_parser(&text).expect("it reads what we write"));
    };
    let floor = || {
        black_box(split_and_parse(&text));
    };
    let contenders: [(&str, &dyn Fn()); 4] = [
        ("read, interpreted, checked, timed", &rehearsed),
        ("`gcode` 0.7, tokens only", &tokens),
        ("`g-code` 0.6, tokens only", &other_tokens),
        ("floor: split and std f64 parse", &floor),
    ];
    let mut times = contenders.map(|_| Vec::new());
    // One after the other, ours first, as in a process of its own: mixed, ours is slower after `g-code` has run.
    for ((_, work), times) in contenders.iter().zip(&mut times) {
        for _ in 0..runs {
            let start = clock::spent();
            work();
            times.push(clock::spent() - start);
        }
    }
    for ((what, _), mut times) in contenders.iter().zip(times) {
        times.sort_by(f64::total_cmp);
        let speed = |seconds: f64| count / seconds / 1e6;
        let median = times[times.len() / 2];
        println!(
            "| {what} | {:.2} | {:.2} | {:.2} | {:.0} |",
            speed(median),
            speed(times[times.len() - 1]),
            speed(times[0]),
            text.len() as f64 / median / 1e6
        );
    }
}

/// The most memory that this process has held so far, where the system says so.
fn memory() -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let peak = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    format!("peak memory {}", peak.map_or("unknown", str::trim))
}
