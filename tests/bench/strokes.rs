//! Pen strokes: drawings whose least pen-up way is known, and the cover of some two hundred buttons.

use crate::{Answer, Case, Seed};
use bradawl::{
    diag::Source,
    job, layout,
    machine::{self, Work},
    plan,
    route::{Cost, Effort, Ends, Place, Shape, Stroke, order_strokes},
};

/// Lifting the pen and putting it down, mm.
const LIFT: f64 = 5.0;

pub fn cases() -> Vec<Case> {
    let mut cases = Vec::new();
    for n in [200, 2_000] {
        // In one line, so the pen need not come up at all.
        let way = |i: usize| {
            let r = i as f64;
            [[r, 0.0], [0.0, r], [-r, 0.0], [0.0, -r]][i % 4]
        };
        let pieces = (0..n).map(|i| line(way(i), way(i + 1)));
        cases.push(known(
            format!("strokes spiral {n}"),
            shuffled(pieces.collect()),
            Ends::Open,
            0.0,
        ));
        // To and fro between lines far longer than they are apart.
        let rungs = (0..n).map(|i| line([0.0, i as f64 * 7.0], [9e4, i as f64 * 7.0]));
        let least = (n - 1) as f64 * (7.0 + LIFT);
        cases.push(known(
            format!("strokes rungs {n}"),
            shuffled(rungs.collect()),
            Ends::Open,
            least,
        ));
    }
    for side in [9, 21] {
        // Odd vertices stand along the border, an even number on each side, each with one at its side.
        let least = 4.0 * ((side - 1) / 2) as f64 * (10.0 + LIFT);
        let grid = shuffled(grid(side));
        cases.push(known(format!("strokes grid {}", grid.len()), grid, Ends::Closed, least));
    }
    for n in [40, 400] {
        // Squares in a row that touch at their corners: two are drawn from one corner, and the pen comes up
        // for the next two, two diagonals farther.
        let squares = (0..n).map(|i| square(i as f64 * 10.0, i as f64 * 10.0)).collect();
        let pairs = (n / 2) as f64;
        let least = (pairs - 1.0) * (2.0 * 200f64.sqrt() + LIFT);
        cases.push(known(format!("strokes squares {n}"), shuffled(squares), Ends::Open, least));
    }
    cases.push(cover());
    cases
}

fn line(a: Place, b: Place) -> Stroke {
    Stroke { points: vec![a, b], shape: Shape::Line }
}

fn square(x: f64, y: f64) -> Stroke {
    let points = vec![[x, y], [x + 10.0, y], [x + 10.0, y + 10.0], [x, y + 10.0]];
    Stroke { points, shape: Shape::Loop }
}

/// Every side of a grid of `side` by `side` cells, each a stroke of its own.
fn grid(side: usize) -> Vec<Stroke> {
    let at = |i: usize, j: usize| [i as f64 * 10.0, j as f64 * 10.0];
    let mut strokes = Vec::new();
    for i in 0..=side {
        for j in 0..side {
            strokes.push(line(at(i, j), at(i, j + 1)));
            strokes.push(line(at(j, i), at(j + 1, i)));
        }
    }
    strokes
}

/// In any order, each in any direction.
fn shuffled(mut strokes: Vec<Stroke>) -> Vec<Stroke> {
    let mut seed = Seed(strokes.len() as u64);
    for i in (1..strokes.len()).rev() {
        strokes.swap(i, (seed.unit() * (i + 1) as f64) as usize);
        if seed.unit() < 0.5 {
            strokes[i].points.reverse();
        }
    }
    strokes
}

fn known(name: String, strokes: Vec<Stroke>, ends: Ends, optimum: f64) -> Case {
    let count = strokes.len();
    let run = move |effort: Effort| {
        let found = order_strokes(&strokes, ends, Cost::Distance, LIFT, effort, &mut |_| {})
            .expect("good strokes");
        Answer { cost: found.cost, excess: found.excess() }
    };
    Case { name, count, optimum: Some(optimum), holes: None, run: Box::new(run) }
}

/// The fabric program of a job like those that come with the tool.
fn cover() -> Case {
    let text = "title = \"Foyer panel\"\nunits = \"mm\"\n\
        [panel.rectangle]\nwidth = 900\nheight = 1500\n\
        [board]\nthickness = 12\nhole = 8\n[foam]\nthickness = 40\nhole = 24\n[wadding]\nthickness = 6\n\
        [button]\ndiameter = \"30 line\"\n\
        [pattern.diamond]\nwidth = 85\nheight = 130\nedge = 60\n\
        [fabric]\nroll_width = 1500\nturn_in = 75\n\
        [fabric.allowance.measured]\nacross = 35\ndown = 28\n\
        [on]\nfabric = \"roll-plotter\"\n";
    let source = |name: &str, text: String| Source { name: name.to_string(), text };
    let job = job::read(&source("foyer.toml", text.to_string())).expect("the job can be read");
    let layout = layout::lay_out(&job).expect("the job can be laid out");
    let file = format!("{}/machines/roll-plotter.toml", env!("CARGO_MANIFEST_DIR"));
    let machine = std::fs::read_to_string(&file).expect("a machine that comes with the tool");
    let machine =
        machine::read("roll-plotter", &source(&file, machine)).expect("the machine can be read");
    let count = layout.buttons.len();
    let run = move |effort: Effort| {
        let plans = plan::plan(&job, &layout, Work::Fabric, &machine, effort).expect("a plan");
        let sum = |of: fn(&plan::Travel) -> f64| plans.iter().map(|plan| of(&plan.travel)).sum();
        let (cost, bound): (f64, f64) = (sum(|t| t.seconds), sum(|t| t.seconds_bound));
        Answer { cost, excess: cost / bound - 1.0 }
    };
    let name = format!("cover of {count} buttons");
    Case { name, count, optimum: None, holes: None, run: Box::new(run) }
}
