//! Orders of generated and published places, and of strokes: cost, proof and time, in one table.
//!
//! Seconds are the median of N runs, of the processor.
//!
//! `cargo bench --bench route -- [WORD] [--runs N] [--effort E] [--tsplib DIR] [--dump DIR]`
//! runs the cases whose name contains WORD; `-- --wide`, once each, many small grids, and counts those
//! that are proved.

#[path = "clock.rs"]
mod clock;
#[path = "strokes.rs"]
mod strokes;

use bradawl::route::{Cost, Effort, Ends, Place, order};

/// An order is proved when it is no further over its bound than this: moves are rounded.
const PROVED: f64 = 1e-6;

/// Whole-number chance, so that every run sees the same places.
struct Seed(u64);

impl Seed {
    fn unit(&mut self) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
}

/// Whether a point of the unit square is within a shape.
type Shape = fn(f64, f64) -> bool;

const SHAPES: [(&str, Shape); 3] = [("rectangle", rectangle), ("ellipse", ellipse), ("arch", arch)];

const EVEN: Cost = Cost::Time { rapid: [5000.0, 5000.0], acceleration: [400.0, 400.0] };
const UNEVEN: Cost = Cost::Time { rapid: [9000.0, 3000.0], acceleration: [800.0, 250.0] };

/// A field of about `n` places, pitch `w` along a row and `h` between rows, every second of which is
/// staggered by half a pitch, or none.
fn field(n: usize, w: f64, h: f64, staggered: bool, inside: Shape) -> Vec<Place> {
    let share = (0..10_000)
        .filter(|i| inside((i % 100) as f64 / 99.0, (i / 100) as f64 / 99.0))
        .count() as f64
        / 1e4;
    let columns = ((n as f64 / share * h / w).sqrt() * 1.5).round().max(2.0) as usize;
    let rows = (n as f64 / share / columns as f64).round().max(2.0) as usize;
    let mut places = Vec::new();
    for r in 0..rows {
        let shifted = if staggered { r % 2 } else { 0 };
        for c in 0..columns - shifted {
            let x = c as f64 + 0.5 * shifted as f64;
            if inside(x / (columns - 1) as f64, r as f64 / (rows - 1).max(1) as f64) {
                places.push([100.0 + x * w, 100.0 + r as f64 * h]);
            }
        }
    }
    places
}

fn rectangle(_: f64, _: f64) -> bool {
    true
}

/// Within the ellipse that fills the unit square.
fn round(x: f64, y: f64) -> bool {
    let (x, y) = (2.0 * x - 1.0, 2.0 * y - 1.0);
    x * x + y * y <= 1.0 + 1e-9
}

fn ellipse(x: f64, y: f64) -> bool {
    round(x, y)
}

fn arch(x: f64, y: f64) -> bool {
    y <= 0.5 || round(x, y)
}

fn scattered(n: usize) -> Vec<Place> {
    let mut seed = Seed(n as u64);
    let side = (n as f64).sqrt() * 20.0;
    (0..n)
        .map(|_| {
            [(seed.unit() * side * 1e3).round() / 1e3, (seed.unit() * side * 1e3).round() / 1e3]
        })
        .collect()
}

/// Something to be ordered.
struct Case {
    name: String,
    /// Places, strokes or buttons.
    count: usize,
    optimum: Option<f64>,
    /// What the solvers beside ours can be given.
    holes: Option<Holes>,
    run: Box<dyn Fn(Effort) -> Answer>,
}

struct Holes {
    places: Vec<Place>,
    ends: Ends,
    cost: Cost,
}

struct Answer {
    cost: f64,
    /// Over the proven bound, as a share of it.
    excess: f64,
}

impl Case {
    fn holes(name: String, places: Vec<Place>, ends: Ends, cost: Cost) -> Case {
        let of = places.clone();
        let run = move |effort: Effort| {
            let found = order(&of, ends, cost, effort, &mut |_| {}).expect("good places");
            Answer { cost: found.cost, excess: found.excess() }
        };
        let (count, holes) = (places.len(), Some(Holes { places, ends, cost }));
        Case { name, count, optimum: None, holes, run: Box::new(run) }
    }
}

fn main() {
    let mut words = Vec::new();
    let (mut runs, mut effort, mut tsplib, mut dump) = (5, Effort::Normal, None, None);
    let mut given = std::env::args().skip(1);
    while let Some(word) = given.next() {
        match word.as_str() {
            "--runs" => runs = given.next().and_then(|v| v.parse().ok()).expect("--runs N"),
            "--tsplib" => tsplib = given.next(),
            "--dump" => dump = given.next(),
            "--effort" => {
                effort = match given.next().as_deref() {
                    Some("quick") => Effort::Quick,
                    Some("thorough") => Effort::Thorough,
                    _ => Effort::Normal,
                }
            }
            "--wide" => return wide(),
            "--bench" => {}
            _ => words.push(word),
        }
    }
    let cases = cases(tsplib.as_deref());
    println!("| case | places | cost | over bound | over optimum | seconds |");
    println!("| --- | ---: | ---: | ---: | ---: | ---: |");
    let mut over = Vec::new();
    for case in
        cases.iter().filter(|c| words.is_empty() || words.iter().any(|w| c.name.contains(w)))
    {
        let mut seconds = Vec::new();
        let mut answer = None;
        for _ in 0..runs {
            let start = clock::spent();
            answer = Some((case.run)(effort));
            seconds.push(clock::spent() - start);
        }
        seconds.sort_by(f64::total_cmp);
        let median = seconds[seconds.len() / 2];
        let Answer { cost, excess } = answer.expect("one run at least");
        if let (Some(dir), Some(holes)) = (&dump, &case.holes) {
            write(dir, &case.name, holes, cost, median);
        }
        let gap = case.optimum.map_or("".to_string(), |optimum| {
            let gap = 100.0 * (cost - optimum) / optimum.max(f64::MIN_POSITIVE);
            if case.name.starts_with("tsplib") {
                over.push(gap);
            }
            format!("{gap:.3} %")
        });
        let count = case.count;
        let bound = 100.0 * excess;
        println!("| {} | {count} | {cost:.3} | {bound:.4} % | {gap} | {median:.4} |", case.name);
    }
    if !over.is_empty() {
        println!(
            "mean over the published optima: {:.4} %",
            over.iter().sum::<f64>() / over.len() as f64
        );
    }
}

/// A case and our answer as JSON, for route_references.py to run others on.
fn write(dir: &str, name: &str, holes: &Holes, cost: f64, seconds: f64) {
    let (park, closed) = match holes.ends {
        Ends::Park(park) => (Some(park), true),
        Ends::Closed => (None, true),
        Ends::Open => (None, false),
    };
    let (kind, rapid, acceleration) = match holes.cost {
        Cost::Distance => ("distance", [0.0; 2], [0.0; 2]),
        Cost::Nint => ("nint", [0.0; 2], [0.0; 2]),
        Cost::Time { rapid, acceleration } => ("time", rapid, acceleration),
    };
    let text = serde_json::json!({
        "name": name, "places": holes.places, "park": park, "closed": closed, "kind": kind,
        "rapid": rapid, "acceleration": acceleration, "cost": cost, "seconds": seconds,
    });
    let path = format!("{dir}/{}.json", name.replace(' ', "-"));
    std::fs::write(path, text.to_string()).expect("a folder that can be written to");
}

/// How many of many small grids are proved, and how soon, by pattern and cost.
fn wide() {
    let sizes = [40, 60, 80, 100, 120, 160, 200, 250, 300, 350, 420, 500];
    let pitches = [
        [200.0, 140.0],
        [200.0, 150.0],
        [100.0; 2],
        [100.0, 86.6],
        [80.0, 60.0],
        [75.0, 50.0],
        [30.0, 20.0],
    ];
    let park = Ends::Park([0.0; 2]);
    let costs = [
        ("time, both axes alike, through a park", EVEN, park),
        ("time, one slow axis, through a park", UNEVEN, park),
        ("distance, closed", Cost::Distance, Ends::Closed),
        ("distance, through a park", Cost::Distance, park),
    ];
    println!(
        "| grids | cost | proved | of these within 0.1 s | most over bound | seconds, mean | most |"
    );
    println!("| --- | --- | ---: | ---: | ---: | ---: | ---: |");
    for (pattern, staggered) in [("staggered", true), ("straight", false)] {
        for (name, cost, ends) in costs {
            let (mut all, mut proved, mut soon) = (0, 0, 0);
            let (mut excess, mut spent, mut most) = (0.0_f64, 0.0, 0.0_f64);
            for n in sizes {
                for [w, h] in pitches {
                    for (_, inside) in SHAPES {
                        let places = field(n, w, h, staggered, inside);
                        let start = clock::spent();
                        let found = order(&places, ends, cost, Effort::Normal, &mut |_| {});
                        let seconds = clock::spent() - start;
                        let over = found.expect("good places").excess();
                        all += 1;
                        proved += usize::from(over < PROVED);
                        soon += usize::from(over < PROVED && seconds <= 0.1);
                        excess = excess.max(over);
                        spent += seconds;
                        most = most.max(seconds);
                    }
                }
            }
            let (excess, mean) = (100.0 * excess, spent / all as f64);
            println!(
                "| {pattern} | {name} | {proved} of {all} | {soon} | {excess:.2} % | {mean:.2} | {most:.1} |"
            );
        }
    }
}

fn cases(tsplib: Option<&str>) -> Vec<Case> {
    let mut cases = Vec::new();
    let mut add = |name: String, places: Vec<Place>, ends, cost| {
        cases.push(Case::holes(name, places, ends, cost));
    };
    for n in [40, 120, 500, 2_000, 10_000, 20_000] {
        for (shape, inside) in SHAPES {
            let (w, h) = if n > 1_000 { (30.0, 20.0) } else { (200.0, 140.0) };
            add(
                format!("grid {shape} {n}"),
                field(n, w, h, true, inside),
                Ends::Park([0.0; 2]),
                EVEN,
            );
        }
        add(
            format!("grid straight {n}"),
            field(n, 200.0, 140.0, true, arch),
            Ends::Park([0.0; 2]),
            Cost::Distance,
        );
        add(
            format!("grid uneven {n}"),
            field(n, 75.0, 50.0, true, rectangle),
            Ends::Park([0.0; 2]),
            UNEVEN,
        );
        add(
            format!("grid distance {n}"),
            field(n, 75.0, 50.0, true, rectangle),
            Ends::Closed,
            Cost::Distance,
        );
    }
    for n in [200, 1_000, 10_000, 100_000] {
        add(format!("scattered {n}"), scattered(n), Ends::Closed, Cost::Distance);
        add(format!("scattered time {n}"), scattered(n), Ends::Park([0.0; 2]), UNEVEN);
    }
    add("scattered open 1000".into(), scattered(1_000), Ends::Open, Cost::Distance);
    add("million".into(), scattered(1_000_000), Ends::Closed, Cost::Distance);
    cases.extend(strokes::cases());
    if let Some(dir) = tsplib {
        let table = std::fs::read_to_string(format!("{dir}/solutions.txt")).expect("solutions.txt");
        let mut names: Vec<_> =
            std::fs::read_dir(dir).expect("a folder").map(|e| e.unwrap().path()).collect();
        names.sort();
        for path in names.iter().filter(|p| p.extension().is_some_and(|e| e == "tsp")) {
            let text = std::fs::read_to_string(path).expect("readable");
            let stem = path.file_stem().unwrap().to_string_lossy().to_string();
            let optimum = table.lines().find_map(|l| {
                let (name, value) = l.split_once(':')?;
                (name.trim() == stem).then(|| value.trim().parse().ok())?
            });
            let places = bradawl::route::places::read(&text).expect("TSPLIB");
            let name = format!("tsplib {stem}");
            cases.push(Case { optimum, ..Case::holes(name, places, Ends::Closed, Cost::Nint) });
        }
    }
    cases
}
