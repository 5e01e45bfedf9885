//! A million lines of drilling read, interpreted, checked and timed, beside what only reads them.
//!
//! `cargo bench --bench dry_run`. Medians of five runs, one thread, everything in memory.

use bradawl::{
    diag::Source,
    machine,
    sim::{Setting, WorkSize, rehearse},
};
use std::{fmt::Write, hint::black_box, time::Instant};

/// Holes in the program: three lines each.
const HOLES: usize = 333_333;

fn program() -> String {
    let mut text = String::from(
        "G21 G17 G90 G94 G54\nG0 Z30.000\nG0 X0.000 Y0.000\nT1\nM0\nS3000\nM3\nG4 P3.000\n",
    );
    for i in 0..HOLES {
        let (x, y) = (100 + i % 600, 100 + i / 600 % 400);
        let _ =
            writeln!(text, "G0 X{x}.{:03} Y{y}.500\nG1 Z-12.500 F300.000\nG0 Z30.000", i % 1000);
    }
    text.push_str("M5\nG0 X0.000 Y0.000\nM2\n");
    text
}

/// Median seconds of five runs.
fn median(mut run: impl FnMut()) -> f64 {
    let mut times: Vec<f64> = (0..5)
        .map(|_| {
            #[expect(clippy::disallowed_methods, reason = "a bench measures time")]
            let begun = Instant::now();
            run();
            begun.elapsed().as_secs_f64()
        })
        .collect();
    times.sort_by(f64::total_cmp);
    times[2]
}

fn main() {
    let text = program();
    let lines = text.lines().count() as f64;
    let source = Source {
        name: "bench-router".to_string(),
        text: include_str!("../../machines/bench-router.toml").to_string(),
    };
    let machine = machine::read("bench-router", &source).expect("a demo machine");
    let work = Some(WorkSize { x: 840.0, y: 560.0, thickness: 12.0 });

    let whole = median(|| {
        let rehearsal = rehearse(text.as_bytes(), &Setting { machine: &machine, work }, |step| {
            black_box(step);
        });
        assert_eq!(rehearsal.expect("reading from memory").faults, []);
    });
    let tokens = median(|| {
        let file = g_code::parse::file_parser(&text).expect("a program");
        black_box(file.iter_fields().count());
    });
    let floor = median(|| {
        let mut sum = 0.0;
        for line in text.lines() {
            for word in line.split(' ') {
                sum += word.get(1..).and_then(|number| number.parse::<f64>().ok()).unwrap_or(0.0);
            }
        }
        black_box(sum);
    });
    println!("| what | million lines a second | time, ours = 1 |");
    println!("| --- | --- | --- |");
    for (what, seconds) in [
        ("bradawl: read, interpreted, checked, timed", whole),
        ("crate g-code 0.6: tokens only", tokens),
        ("floor: split and std f64 parse", floor),
    ] {
        println!("| {what} | {:.2} | {:.2} |", lines / seconds / 1e6, seconds / whole);
    }
}
