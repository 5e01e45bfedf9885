//! Work larger than the bed: set-ups, their proof, and what play of the dowels may do.

use crate::demo::{job, job_text, machines, source};
use approx::assert_relative_eq;
use bradawl::{
    layout::{HoleSheet, Name},
    machine::{self, Cloth, KeepClear, Machine, Work},
    make::{self, Made, Refused, Wanted},
    paper::Paper,
    plan::{Footing, Lay, Step, Turn, mm, um},
    program,
    route::Effort,
    sim::{Holes, Setting, WorkSize, rehearse},
    units::Unit,
    verify::{Lapse, Part, across},
};
use proptest::prelude::*;
use std::collections::BTreeMap;

/// A bench router whose bed, sides and clamps are as given.
pub fn router(bed: [f64; 2], over: [f64; 4], clamps: &[KeepClear]) -> BTreeMap<String, Machine> {
    let mut machines = machines();
    let router = machines.get_mut("bench-router").expect("it comes with the tool");
    (router.bed.x, router.bed.y, router.bed.over) = (bed[0], bed[1], over);
    router.keep_clear = clamps.to_vec();
    machines
}

/// The headboard: 2030 x 760 mm.
fn headboard() -> String {
    job_text(&[
        ("panel", "[panel.rectangle]\nwidth = 2030\nheight = 760"),
        ("pattern", "[pattern.diamond]\nwidth = 200\nheight = 290\nedge = 90"),
        ("fabric", "[fabric]\nroll_width = 3400\nturn_in = 75"),
        ("allowance", "[fabric.allowance.measured]\nacross = 32\ndown = 32"),
    ])
}

pub fn make(
    text: &str,
    machines: &BTreeMap<String, Machine>,
    works: &[Work],
) -> Result<Made, Refused> {
    make::make(
        &Wanted { job: &job(text), machines, works, effort: Effort::Quick, paper: Paper::A4 },
        &|_| {},
    )
}

/// Every hole that the programs of a work make, carried back to the sheet by hand: how often each was
/// drilled, and what was drilled that is no hole.
fn drilled(made: &Made, sheet: &HoleSheet) -> (BTreeMap<Name, u32>, u32) {
    let mut count: BTreeMap<Name, u32> = sheet.places.iter().map(|(name, _)| (*name, 0)).collect();
    let mut strays = 0;
    for program in made.programs.iter().filter(|p| p.plan.work == sheet.work) {
        let lay = program.plan.setup.lay;
        let [x, y, thickness] = program.plan.size.map(mm);
        let work = WorkSize { x, y, thickness, at: lay.corner.map(mm) };
        let setting = Setting { machine: &program.machine, work: Some(work) };
        let mut holes = Holes::default();
        rehearse(program.verified.text().as_bytes(), &setting, |step| holes.watch(step))
            .expect("memory");
        for [x, y, _] in holes.found() {
            let at = on_sheet(&lay, sheet, [x, y]);
            let near = sheet
                .places
                .iter()
                .find(|(_, p)| (p.x - at[0]).abs() < 0.01 && (p.y - at[1]).abs() < 0.01);
            match near {
                Some((name, _)) => *count.get_mut(name).expect("listed") += 1,
                None => strays += 1,
            }
        }
    }
    (count, strays)
}

/// A place of a program, carried back to the sheet by hand.
pub fn on_sheet(lay: &Lay, sheet: &HoleSheet, [x, y]: [f64; 2]) -> [f64; 2] {
    let [w, h] = sheet.size;
    let [dx, dy] = [x - mm(lay.corner[0]), y - mm(lay.corner[1])];
    match lay.turn {
        Turn::Not => [dx, dy],
        Turn::Quarter => [dy, h - dx],
        Turn::Half => [w - dx, h - dy],
        Turn::ThreeQuarters => [w - dy, dx],
        Turn::Over => [w - dx, dy],
        Turn::OverQuarter => [w - dy, h - dx],
        Turn::OverHalf => [dx, h - dy],
        Turn::OverThreeQuarters => [dy, dx],
    }
}

fn each_once(made: &Made, sheet: &HoleSheet) {
    let (count, strays) = drilled(made, sheet);
    assert_eq!(strays, 0);
    assert!(count.values().all(|n| *n == 1), "{count:?}");
}

#[test]
fn a_wide_headboard_takes_three_set_ups_on_a_small_bed_and_two_cannot_do() {
    let text = headboard();
    let made = make(&text, &machines(), &[Work::Board, Work::Foam]).expect("it can be made");
    for (work, sheet) in [(Work::Board, &made.layout.board), (Work::Foam, &made.layout.foam)] {
        let programs: Vec<_> = made.programs.iter().filter(|p| p.plan.work == work).collect();
        assert_eq!(programs.len(), 3, "{work}");
        for (i, program) in programs.iter().enumerate() {
            assert_eq!(program.file, format!("{work}-{}.nc", i + 1));
            assert!(made.files.contains_key(&program.file));
        }
        each_once(&made, sheet);
        // The proof, checked without the planner: three holes, each pair farther apart than the bed is long,
        // and turned by a quarter the board would lie over the near or the far side by too much.
        let fewest = &programs[0].plan.setup.fewest;
        let named: Vec<&str> = fewest
            .split("holes ")
            .nth(1)
            .and_then(|rest| rest.split(" ever").next())
            .expect("it names them")
            .split(", ")
            .collect();
        assert_eq!(named.len(), 3, "{fewest}");
        let at = |name: &str| {
            sheet.places.iter().find(|(n, _)| n.to_string() == name).expect("a hole").1
        };
        for (i, a) in named.iter().enumerate() {
            for b in &named[i + 1..] {
                assert!((at(a).x - at(b).x).abs() > 900.0, "{a} {b}");
            }
        }
    }
    let router = &machines()["bench-router"];
    let [_, _, near, far] = router.bed.over;
    assert!(2030.0 > router.bed.y + near + far);
}

#[test]
fn no_play_of_the_dowels_puts_a_hole_farther_off_than_is_said() {
    let made = make(&headboard(), &machines(), &[Work::Board]).expect("it can be made");
    let sheet = &made.layout.board;
    let play = machines()["bench-router"].bed.dowel_play;
    let at = |name: Name| {
        let place = sheet.places.iter().find(|(n, _)| *n == name).expect("a hole").1;
        [place.x, place.y]
    };
    let made_in: BTreeMap<Name, usize> = made
        .programs
        .iter()
        .enumerate()
        .flat_map(|(i, program)| {
            program.plan.steps.iter().filter_map(move |step| match step {
                Step::Drill { name, .. } => Some((*name, i)),
                _ => None,
            })
        })
        .collect();
    let said = made.programs.iter().filter_map(|p| p.plan.setup.worst).map(|(_, off)| off);
    let said = said.fold(0.0, f64::max);
    // Small motions of a rigid board: a shift of its corner and a turn, so that a place (x, y) goes by
    // (shift x - turn y, shift y + turn x). A hole is drilled off by what the board is off, the other way.
    let mut dice = 1u64;
    let mut throw = || {
        dice = dice.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        (dice >> 33) as f64 / f64::from(1u32 << 31)
    };
    let mut greatest: f64 = 0.0;
    for _ in 0..20_000 {
        let mut fields: Vec<[f64; 3]> = vec![[0.0; 3]];
        for program in &made.programs[1..] {
            let [a, b] = program.plan.setup.dowels.expect("it stands on dowels").map(|d| d.hole);
            assert_eq!(made_in[&a], made_in[&b], "both were drilled together");
            let [from, to] = [a, b].map(at);
            let line = [to[0] - from[0], to[1] - from[1]];
            let long = (line[0] * line[0] + line[1] * line[1]).sqrt();
            let [c, s] = [line[0] / long, line[1] / long];
            // At the edge of what play allows: along the line alike, across it either way.
            let angle = throw() * std::f64::consts::TAU;
            let (along, across) = (play * libm::sin(angle), play * libm::cos(angle));
            let sign = if throw() < 0.5 { 1.0 } else { -1.0 };
            let turn = across * (sign - 1.0) / long;
            let here = [along * c - across * s, along * s + across * c];
            let shift = [here[0] + turn * from[1], here[1] - turn * from[0]];
            let before = fields[made_in[&a]];
            fields.push([before[0] - shift[0], before[1] - shift[1], before[2] - turn]);
        }
        for (name, setup) in &made_in {
            let ([x, y], [dx, dy, turn]) = (at(*name), fields[*setup]);
            let off = [dx - turn * y, dy + turn * x];
            let off = (off[0] * off[0] + off[1] * off[1]).sqrt();
            assert!(off <= said + 1e-9, "{name} is {off} mm off, and {said} was said");
            greatest = greatest.max(off);
        }
    }
    assert!(greatest > 0.8 * said, "the figure said is near what can happen: {greatest} of {said}");
    assert!(said <= 1.0, "within the tolerance that a job has where it states none");
}

#[test]
fn play_is_worst_where_brute_force_finds_it() {
    let footing = Footing { holes: [[0, 0], [0, um(580.0)]], each: 0.1 };
    for place in [[0.0, 0.0], [300.0, 290.0], [820.0, 0.0], [-100.0, 700.0], [900.0, 580.0]] {
        let mut brute: f64 = 0.0;
        for i in 0..720 {
            let along = 0.1 * libm::sin(f64::from(i) / 720.0 * std::f64::consts::TAU);
            let rest = (0.01 - along * along).max(0.0).sqrt();
            for (a, b) in [(rest, rest), (rest, -rest), (-rest, rest), (-rest, -rest)] {
                let (s, t) = (place[1] / 580.0, -place[0] / 580.0);
                let off = [(1.0 - s) * a + s * b, along - t * (b - a)];
                brute = brute.max((off[0] * off[0] + off[1] * off[1]).sqrt());
            }
        }
        let worst = footing.worst(place.map(um));
        assert!(
            worst >= brute - 1e-9 && worst < brute * 1.001,
            "{place:?}: {worst}, brute force {brute}"
        );
    }
}

#[test]
fn a_hole_under_a_clamp_is_reached_by_sliding_or_by_another_set_up() {
    let clamp = |x, y| KeepClear { x, y, height: 25.0 };
    let text = job_text(&[]);
    let plain = make(&text, &router([900.0, 600.0], [0.0; 4], &[]), &[Work::Board]);
    let (name, at) = plain.expect("it can be made").layout.board.places[3];
    let over = |[x, y]: [f64; 2]| clamp([x - 10.0, x + 10.0], [y - 10.0, y + 10.0]);
    // Room to slide: one set-up, the corner of the sheet elsewhere.
    let machines = router([900.0, 600.0], [0.0; 4], &[over([at.x, at.y])]);
    let made = make(&text, &machines, &[Work::Board]).expect("it can be made");
    assert_eq!(made.programs.len(), 1);
    assert_ne!(made.programs[0].plan.setup.lay.corner, [0, 0]);
    each_once(&made, &made.layout.board);
    // No room to slide, and a clamp over the same hole however the board is turned, over or not: by name.
    let places = [at.x, 720.0 - at.x].map(|x| [at.y, 480.0 - at.y].map(|y| over([x, y])));
    let machines = router([720.0, 480.0], [0.0; 4], &places.concat());
    match make(&job_text(&[]), &machines, &[Work::Board]) {
        Err(Refused::Job(wrong)) => {
            assert_eq!(wrong.len(), 1);
            assert!(wrong[0].message.contains(&name.to_string()), "{}", wrong[0].message);
        }
        other => panic!("{other:?}"),
    }
}

/// A hole for a dowel goes on into the spoilboard, and the holder comes down with the bit.
#[test]
fn dowels_are_drilled_clear_of_clamps_with_the_holder_as_well() {
    let over = [2500.0; 4];
    let plain = make(&headboard(), &router([900.0, 600.0], over, &[]), &[Work::Board]);
    let plain = plain.expect("it can be made");
    let setup = &plain.programs[0].plan.setup;
    for dowel in setup.dowels.expect("several set-ups") {
        let [x, y] = dowel.at.map(mm);
        // The bit of 60 mm passes it, and in a twine hole so does the holder; 12 mm deeper it does not.
        let clamp = KeepClear { x: [x + 15.0, x + 35.0], y: [y - 10.0, y + 10.0], height: 50.0 };
        let made = make(&headboard(), &router([900.0, 600.0], over, &[clamp]), &[Work::Board]);
        let made = made.unwrap_or_else(|why| panic!("{why:?}"));
        each_once(&made, &made.layout.board);
    }
}

#[test]
fn work_that_may_not_lie_over_the_sides_is_refused_with_what_to_write() {
    let machines = router([600.0, 500.0], [0.0; 4], &[]);
    match make(&job_text(&[]), &machines, &[Work::Board]) {
        Err(Refused::Job(wrong)) => insta::assert_snapshot!(
            wrong
                .iter()
                .map(|w| format!("{}\n{}\n", w.message, w.help.as_deref().unwrap_or_default()))
                .collect::<String>()
        ),
        other => panic!("{other:?}"),
    }
}

/// Accepted set-ups, spoilt: each time something is objected to.
#[test]
fn set_ups_that_do_not_make_the_sheet_are_objected_to() {
    let made = make(&headboard(), &machines(), &[Work::Board]).expect("it can be made");
    let sheet = &made.layout.board;
    let plans: Vec<_> = made.programs.iter().map(|p| p.plan.clone()).collect();
    let hold = |plans: &[bradawl::plan::Plan]| {
        let programs: Vec<_> = plans
            .iter()
            .map(|plan| {
                let machine = &machines()["bench-router"];
                program::prove("Trial", plan.clone(), machine).expect("each by itself is sound")
            })
            .collect();
        let parts: Vec<Part> = programs
            .iter()
            .map(|p| Part { plan: &p.plan, machine: &p.machine, verified: &p.verified })
            .collect();
        across(sheet, &parts).err().unwrap_or_default()
    };
    let found = |lapses: &[Lapse], name: &str| {
        assert!(lapses.iter().any(|lapse| lapse.name() == name), "{name}: {lapses:?}");
    };
    assert_eq!(hold(&plans), []);
    // A set-up left out: its holes are missing, and the next stands on holes that are not there.
    found(&hold(&[plans[0].clone(), plans[2].clone()]), "not-made");
    found(&hold(&[plans[0].clone(), plans[2].clone()]), "not-drilled-yet");
    // The first left out: nobody drilled for the dowels.
    found(&hold(&plans[1..]), "no-dowel-hole");
    // One made twice over.
    found(&hold(&[plans[0].clone(), plans[0].clone()]), "made-twice");
    // The board a centimetre from where its holes are on the dowels.
    let mut astray = plans.clone();
    astray[1].setup.lay.corner[0] += 10_000;
    let lapses = hold(&astray);
    found(&lapses, "dowel-astray");
    found(&lapses, "unwanted");
    // The dowels not deep enough.
    let mut shallow = plans.clone();
    for step in &mut shallow[0].steps {
        if let Step::Drill { depth, .. } = step {
            *depth = (*depth).min(um(12.5));
        }
    }
    found(&hold(&shallow), "no-dowel-hole");
    // A hole drilled through a dowel.
    let mut struck = plans.clone();
    let on = struck[1].setup.dowels.expect("dowels")[0];
    struck[1].steps.push(Step::Drill { name: on.hole, at: on.at, depth: um(12.5), peck: um(8.0) });
    found(&hold(&struck), "dowel-struck");
}

#[test]
fn a_bed_open_on_one_side_is_used_from_both_ends() {
    let machines = router([900.0, 600.0], [0.0, 700.0, 120.0, 120.0], &[]);
    let text = job_text(&[
        ("panel", "[panel.rectangle]\nwidth = 1500\nheight = 560"),
        ("pattern", "[pattern.diamond]\nwidth = 200\nheight = 280\nedge = 90"),
        ("fabric", "[fabric]\nroll_width = 3400\nturn_in = 75"),
        ("allowance", "[fabric.allowance.measured]\nacross = 32\ndown = 32"),
    ]);
    let made = make(&text, &machines, &[Work::Board]).expect("it can be made");
    assert_eq!(made.programs.len(), 2);
    assert_eq!(made.programs[1].plan.setup.lay.turn, Turn::Half);
    assert!(made.programs[1].plan.laid_down().iter().any(|line| line.contains("end for end")));
    each_once(&made, &made.layout.board);
}

/// A bed open to the right and a little to the far side only: one corner of the board is reached by no turning
/// by quarters, and by turning it over.
#[test]
fn a_board_is_turned_over_where_that_saves_a_set_up() {
    let text = job_text(&[
        ("panel", "[panel.rectangle]\nwidth = 1700\nheight = 700"),
        // Two holes on the upright middle, and as far above as below the level one: they suit for dowels
        // whichever way the board is turned over.
        ("pattern", "[pattern.diamond]\nacross = 10\nrows = 5\nedge = 70"),
        ("fabric", "[fabric]\nroll_width = 3400\nturn_in = 75"),
        ("allowance", "[fabric.allowance.measured]\nacross = 32\ndown = 32"),
    ]);
    let machines = router([900.0, 600.0], [0.0, 900.0, 0.0, 200.0], &[]);
    let made = make(&text, &machines, &[Work::Board]).expect("it can be made");
    each_once(&made, &made.layout.board);
    let over = made.programs.iter().find(|p| p.plan.setup.lay.turn.is_over());
    let over = over.expect("one is turned over");
    assert_eq!(over.plan.lies, "back face up, so left and right are exchanged");
    assert!(over.plan.laid_down().iter().any(|line| line.contains("turned over")));
    // Glued to its foam it cannot be turned over, and a hole stays out of reach.
    let bonded = text
        .replace("thickness = \"50 mm\"", "thickness = \"40 mm\"")
        .replace("hole = \"30 mm\"", "hole = \"30 mm\"\nbonded = true");
    assert!(bonded.contains("bonded") && bonded.contains("40 mm"));
    match make(&bonded, &machines, &[Work::Board]) {
        Err(Refused::Job(wrong)) => {
            assert!(wrong[0].message.contains("keep the tool"), "{}", wrong[0].message);
        }
        other => panic!("{other:?}"),
    }
    // Open alike to both sides, nothing is won: it is never turned over.
    let machines = router([900.0, 600.0], [900.0, 900.0, 0.0, 200.0], &[]);
    let made = make(&text, &machines, &[Work::Board]).expect("it can be made");
    assert!(made.programs.iter().all(|p| !p.plan.setup.lay.turn.is_over()));
}

/// Why nothing is won on a bed that is alike on both sides of one axis: what is reached by a sheet turned over is
/// reached by the same sheet turned by quarters, at the mirrored place.
#[test]
fn turned_over_reaches_what_a_quarter_turn_reaches_on_an_even_bed() {
    let sheet = [1_700_000, 700_000];
    // The axis that is mirrored, and what then is the same as each way of lying turned over.
    let alike = [
        (0, [Turn::Not, Turn::Half, Turn::ThreeQuarters, Turn::Quarter]),
        (1, [Turn::Half, Turn::Not, Turn::Quarter, Turn::ThreeQuarters]),
    ];
    let overs = [Turn::Over, Turn::OverHalf, Turn::OverQuarter, Turn::OverThreeQuarters];
    for (axis, level) in alike {
        for (over, level) in overs.into_iter().zip(level) {
            let corner = [-800_000, 50_000];
            let turned = Lay { turn: over, corner, sheet };
            let mut there = corner;
            there[axis] = -corner[axis] - turned.size()[axis];
            let mirrored = Lay { turn: level, corner: there, sheet };
            for at in [[0, 0], [1_700_000, 700_000], [90_000, 640_000]] {
                let mut found = mirrored.place(at);
                found[axis] = -found[axis];
                assert_eq!(turned.place(at), found, "{over:?} {level:?} {at:?}");
            }
        }
    }
}

#[test]
fn foam_that_is_marked_is_divided_too() {
    let text = headboard().replace("hole = \"30 mm\"", "hole = \"30 mm\"\nwork = \"mark\"");
    let mut machines = machines();
    let pen = machines["roll-plotter"].pen.clone();
    machines.get_mut("bench-router").expect("there").pen = pen;
    let made = make(&text, &machines, &[Work::Foam]).expect("it can be made");
    assert_eq!(made.programs.len(), 3);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 6, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever the panel, the bed and the clamps: every button exactly once, or a refusal that says why.
    #[test]
    fn every_button_is_made_once_or_named(
        panel in (400..2000i32, 300..1000i32),
        bed in (500..1300i32, 400..900i32),
        over in prop_oneof![Just([0.0; 4]), Just([2500.0; 4]), Just([2000.0, 2000.0, 150.0, 150.0]), Just([0.0, 1500.0, 0.0, 1500.0])],
        pitch in (160..260i32, 200..320i32),
        clamps in proptest::collection::vec((0..900i32, 0..600i32, 20..120i32, 15..60i32), 0..3),
        foam in any::<bool>(),
    ) {
        let clamps: Vec<KeepClear> = clamps
            .iter()
            .map(|&(x, y, side, height)| {
                let [x, y, side, height] = [x, y, side, height].map(f64::from);
                KeepClear { x: [x, x + side], y: [y, y + 30.0], height }
            })
            .collect();
        let machines = router([f64::from(bed.0), f64::from(bed.1)], over, &clamps);
        let text = job_text(&[
            ("panel", &format!("[panel.rectangle]\nwidth = {}\nheight = {}", panel.0, panel.1)),
            ("pattern", &format!("[pattern.diamond]\nwidth = {}\nheight = {}\nedge = 90", pitch.0, pitch.1)),
        ]);
        let Ok(job) = bradawl::job::read(&source(&text)) else { return Ok(()) };
        let work = if foam { Work::Foam } else { Work::Board };
        match make::make(&Wanted { job: &job, machines: &machines, works: &[work], effort: Effort::Quick, paper: Paper::A4 }, &|_| {}) {
            Ok(made) => {
                let sheet = if foam { &made.layout.foam } else { &made.layout.board };
                let (count, strays) = drilled(&made, sheet);
                prop_assert_eq!(strays, 0);
                for (name, n) in count {
                    prop_assert_eq!(n, 1, "{} on {:?}", name, made.programs.iter().map(|p| p.plan.setup.lay).collect::<Vec<_>>());
                }
                for program in &made.programs {
                    prop_assert!(!program.plan.setup.fewest.is_empty() || program.plan.setup.of == 1);
                }
            }
            Err(Refused::Job(wrong)) => {
                for why in wrong {
                    let says = why.message.as_str();
                    let known = ["mm too much", "larger than the panel", "hole", "needs several set-ups", "allowance"];
                    prop_assert!(known.iter().any(|word| says.contains(word)), "{}", says);
                }
            }
            Err(Refused::Program(why)) => prop_assert!(false, "{:?}", why),
        }
    }

    #[test]
    fn a_place_taken_to_the_bed_and_back_is_where_it_was(
        x in 0..3_000_000i64, y in 0..1_000_000i64, turn in 0..8usize, corner in (-2_000_000..2_000_000i64, -900_000..900_000i64),
    ) {
        let lay = Lay { turn: Turn::EITHER[turn], corner: [corner.0, corner.1], sheet: [3_000_000, 1_000_000] };
        let there = lay.place([x, y]);
        prop_assert_eq!(lay.back(there), [x, y]);
        for ((place, corner), size) in there.into_iter().zip(lay.corner).zip(lay.size()) {
            prop_assert!((corner..=corner + size).contains(&place));
        }
    }
}

/// The keys that say how far work may lie over the bed's sides.
#[test]
fn a_machine_says_over_which_sides_work_may_lie() {
    let text = std::fs::read_to_string(crate::demo::home().join("machines/bench-router.toml"))
        .expect("it is there");
    let bench = machine::read("bench", &source(&text)).expect("it can be read");
    assert_eq!(bench.bed.over, [2000.0, 2000.0, 120.0, 120.0]);
    assert_eq!(bench.bed.dowel_play, 0.1);
}

/// Cloth longer than the bed: each mark in one program, all lines drawn in all, crosses where they were drawn.
#[test]
fn a_long_cover_is_drawn_in_steps_of_the_roll() {
    let text = job_text(&[("on", "[on]\nfabric = \"roll-plotter\"")]);
    let mut machines = machines();
    let plotter = machines.get_mut("roll-plotter").expect("there");
    (plotter.bed.y, plotter.cloth) = (350.0, Cloth::Steps);
    let made = make(&text, &machines, &[Work::Fabric]).expect("it can be made");
    assert!(made.programs.len() >= 3, "{}", made.programs.len());
    let drawn = |made: &Made| -> f64 {
        let strokes = made.programs.iter().flat_map(|p| &p.plan.steps);
        let lengths = strokes.filter_map(|step| match step {
            Step::Stroke { points } => Some(points.windows(2).map(|leg| {
                let [x, y] = [0, 1].map(|axis| mm(leg[1][axis] - leg[0][axis]));
                (x * x + y * y).sqrt()
            })),
            _ => None,
        });
        lengths.flatten().sum()
    };
    let lines = made.layout.cover.pieces.iter().flat_map(|piece| &piece.lines);
    let legs = lines.flat_map(|line| line.points.windows(2));
    let wanted: f64 = legs.map(|leg| leg[0].distance(leg[1])).sum();
    // Two crosses of two arms of 12 mm at each pull.
    let crosses = 48.0 * (made.programs.len() - 1) as f64;
    assert!((drawn(&made) - wanted - crosses).abs() < 0.1, "{} {wanted}", drawn(&made));
    for pair in made.programs.windows(2) {
        let [before, after] = [&pair[0].plan, &pair[1].plan];
        let shown: Vec<[i64; 2]> = after
            .steps
            .iter()
            .filter_map(|step| match step {
                Step::Show { at, .. } => Some(after.setup.lay.back(*at)),
                _ => None,
            })
            .collect();
        assert_eq!(shown.len(), 2);
        for cross in shown {
            let arms = before.steps.iter().filter(|step| match step {
                Step::Stroke { points } if points.len() == 2 => {
                    let middle = [0, 1].map(|axis| (points[0][axis] + points[1][axis]) / 2);
                    before.setup.lay.back(middle) == cross
                }
                _ => false,
            });
            assert_eq!(arms.count(), 2, "{cross:?}");
        }
        assert!(pair[1].verified.text().contains("\nM0\n"));
    }
}

/// Foam glued on first: the board is drilled through the foam's holes.
#[test]
fn a_board_is_drilled_through_the_foam_that_is_glued_to_it() {
    let text =
        job_text(&[("foam", "[foam]\nthickness = \"30 mm\"\nhole = \"30 mm\"\nbonded = true")]);
    let made = make(&text, &machines(), &[Work::Board, Work::Foam]).expect("it can be made");
    for (program, deep) in made.programs.iter().zip([42.5, 30.0]) {
        assert_eq!(program.plan.size[2], um(42.0), "{}", program.file);
        for step in &program.plan.steps {
            if let Step::Drill { depth, .. } = step {
                assert_eq!(*depth, um(deep), "{}", program.file);
            }
        }
    }
}

/// A bit whose speed the spindle just misses is turned a little slower, with as much less feed.
#[test]
fn a_bit_keeps_its_feed_a_tooth_where_the_spindle_is_slower() {
    let mut machines = machines();
    let router = machines.get_mut("bench-router").expect("there");
    router.spindle.as_mut().expect("it turns").rpm_max = 2550.0;
    router.spindle.as_mut().expect("it turns").rpm_min = 1000.0;
    let made = make(&job_text(&[]), &machines, &[Work::Board]).expect("it can be made");
    let text = made.programs[0].verified.text();
    assert!(text.contains("S2550\n") && text.contains("F255.000\n"), "{text}");
}

/// A line that is laid by must lie where a person can see both it and the bed.
#[test]
fn foam_is_laid_by_a_line_that_lies_on_the_bed() {
    let made = make(&headboard(), &machines(), &[Work::Foam]).expect("it can be made");
    let sheet = &made.layout.foam;
    let mut drawn = Vec::new();
    for program in &made.programs {
        let says = program.plan.laid_down().join(" ");
        let number = |after: &str| -> f64 {
            let rest = says.split(after).nth(1).unwrap_or_else(|| panic!("{after}: {says}"));
            rest.split(' ').next().expect("a word").trim_end_matches(',').parse().expect("a number")
        };
        let x = number("centre line at X ");
        assert!((0.0..=900.0).contains(&x), "{says}");
        // The line is as far from the middle of the sheet as the foam is to be marked.
        let lay = program.plan.setup.lay;
        let [at, _] = on_sheet(&lay, sheet, [x, 0.0]);
        let aside = at - sheet.size[0] / 2.0;
        let wanted = match says.contains("draw a line on it ") {
            true if says.contains("mm to the left side") => -number("draw a line on it "),
            true => number("draw a line on it "),
            false => 0.0,
        };
        assert_relative_eq!(aside, wanted, epsilon = 0.06);
        drawn.push(wanted != 0.0);
    }
    assert_eq!(
        drawn,
        [true, false, true],
        "only the middle set-up has the sheet's middle on the bed"
    );
}

/// Who measures in inches is told inches, in the head, on the sheet and in the warnings.
#[test]
fn an_inch_job_is_told_inches_on_the_bed() {
    let mut inches = job(&headboard());
    inches.unit = Unit::Inch;
    inches.board.tolerance = 0.1;
    let made = make::make(
        &Wanted {
            job: &inches,
            machines: &machines(),
            works: &[Work::Board, Work::Foam],
            effort: Effort::Quick,
            paper: Paper::A4,
        },
        &|_| {},
    )
    .expect("it can be made");
    let says: Vec<String> = made.programs.iter().flat_map(|p| p.plan.laid_down()).collect();
    assert!(
        says.iter().any(|says| says.contains("over the left side") && says.contains(" in over"))
    );
    for says in says.iter().chain(made.layout.warnings.iter().filter(|w| w.contains("play"))) {
        assert!(!says.contains(" mm"), "{says}");
        // Every place on the bed has its unit.
        for axis in [" at X ", " at Y ", " Y "] {
            for rest in says.split(axis).skip(1) {
                let mut words = rest.split([' ', '.', ',']).filter(|word| !word.is_empty());
                let unit = words.find(|word| word.parse::<f64>().is_err());
                assert_eq!(unit, Some("in"), "{says}");
            }
        }
    }
    assert!(made.layout.warnings.iter().any(|w| w.contains("of `tolerance`")));
}
