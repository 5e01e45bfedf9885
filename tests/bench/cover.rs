//! The cover of 2,000 buttons whose rows differ, laid out by least squares.
//!
//! `cargo bench --bench cover`; the median of five.

use bradawl::{diag::Source, job, layout};
use std::time::Instant;

/// An arch whose upper rows follow its top, every row with an allowance of its own, so that every second is wider.
fn text(across: u32, rows: u32) -> String {
    let list = |n: u32| {
        let figures: Vec<String> = (0..n)
            .map(|i| format!("{}", 44.0 + 3.0 * f64::from(i % 2) + f64::from(i) / f64::from(n)))
            .collect();
        figures.join(", ")
    };
    format!(
        r#"title = "Wall"
[panel.arch]
width = {}
height = {}
rise = 300
[board]
thickness = 12
hole = 8
[foam]
thickness = 50
hole = 30
[button]
diameter = 22
[pattern.diamond]
across = {across}
rows = {rows}
edge = 90
top = "following"
[fabric]
roll_width = 19000
turn_in = 75
ease = 25
[fabric.allowance.measured]
across = [{}]
down = [{}]
[on]
"#,
        (across - 1) * 135 + 180,
        (rows - 1) * 95 + 180,
        list(rows),
        list(rows - 1),
    )
}

#[expect(clippy::disallowed_methods, reason = "a bench measures time")]
fn main() {
    for (across, rows) in [(20, 11), (50, 41), (71, 57)] {
        let source = Source { name: "wall.toml".to_string(), text: text(across, rows) };
        let job = job::read(&source).expect("a job");
        let mut seconds: Vec<f64> = Vec::new();
        let mut says = String::new();
        for _ in 0..5 {
            let start = Instant::now();
            let layout = layout::lay_out(&job).expect("a layout");
            seconds.push(start.elapsed().as_secs_f64());
            let worst = layout.cover.strained.first().map_or(0.0, |s| s.per_cent().abs());
            says = format!(
                "{:>5} buttons, {:>5} strains, the worst {worst:.2} %",
                layout.buttons.len(),
                layout.cover.strained.len()
            );
        }
        seconds.sort_by(f64::total_cmp);
        println!("{says}: whole layout {:.3} s (fastest {:.3})", seconds[2], seconds[0]);
    }
}
