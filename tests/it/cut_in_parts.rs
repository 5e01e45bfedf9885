//! Boards that are cut out in several set-ups: the panel comes free of its sheet, and nothing of it is cut.

use crate::{
    demo::{job_text, machines},
    setups::{make, on_sheet, router},
};
use bradawl::{
    layout::{HoleSheet, Name},
    machine::{KeepClear, Machine, Work},
    make::{Made, Refused},
    outline::Corner,
    plan::{Leg, Plan, Step, Thing, mm, um},
    program,
    sim::Move,
    verify::{Lapse, Part, across},
};
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

/// An arched back with a socket, a name and two other holes, wider than the bench router.
fn lobby(cut_out: &str) -> String {
    let board = format!(
        "[board]\nthickness = 12\nhole = 8\nface_up = \"back\"\nengraved = \"LOBBY 2\"\n[board.cut_out]\nmargin = 30\n{cut_out}\n\
         [[board.holes]]\nreason = \"cleat\"\nat = [-400, 100]\ndiameter = 8\ndepth = 8\n\
         [[board.holes]]\nreason = \"dowel\"\nat = [600, -230]\ndiameter = 10\n\
         [[opening]]\nreason = \"socket\"\nat = [0, -140]\nwidth = 120\nheight = 70\nradius = 8"
    );
    job_text(&[
        ("panel", "[panel.arch]\nwidth = 1500\nheight = 520\nrise = 140\narcs = \"three\""),
        ("board", &board),
        ("fabric", "[fabric]\nroll_width = 3400\nturn_in = 75"),
    ])
}

fn board(text: &str, machines: &BTreeMap<String, Machine>) -> Made {
    make(text, machines, &[Work::Board]).unwrap_or_else(|refused| panic!("{refused:#?}"))
}

fn parts(made: &Made) -> Vec<Part<'_>> {
    made.programs
        .iter()
        .map(|p| Part { plan: &p.plan, machine: &p.machine, verified: &p.verified })
        .collect()
}

/// The sheet in cells of a millimetre: which are cut through by a tool that goes sideways, but for what tabs leave.
struct Cells {
    size: [usize; 2],
    cut: Vec<bool>,
}

impl Cells {
    fn of(made: &Made) -> Self {
        let sheet = &made.layout.board;
        let size = sheet.size.map(|side| side.ceil() as usize);
        let mut cells = Cells { size, cut: vec![false; size[0] * size[1]] };
        for program in &made.programs {
            let lay = program.plan.setup.lay;
            for step in program.verified.trace() {
                let tool = program.machine.tools.iter().find(|tool| Some(tool.number) == step.tool);
                let Some(tool) = tool else { continue };
                for at in places(step, sheet.thickness - sheet.tabs.height) {
                    cells.stamp(on_sheet(&lay, sheet, at), tool.diameter / 2.0);
                }
            }
        }
        cells
    }

    fn stamp(&mut self, [x, y]: [f64; 2], radius: f64) {
        let range = |at: f64, side: usize| {
            (at - radius).floor().max(0.0) as usize
                ..((at + radius).ceil().max(0.0) as usize).min(side)
        };
        for j in range(y, self.size[1]) {
            for i in range(x, self.size[0]) {
                let [dx, dy] = [i as f64 + 0.5 - x, j as f64 + 0.5 - y];
                self.cut[j * self.size[0] + i] |= dx * dx + dy * dy <= radius * radius;
            }
        }
    }

    fn middle(&self, cell: usize) -> [f64; 2] {
        [(cell % self.size[0]) as f64 + 0.5, (cell / self.size[0]) as f64 + 0.5]
    }

    fn cell(&self, [x, y]: [f64; 2]) -> usize {
        y as usize * self.size[0] + x as usize
    }

    /// All wood that hangs together with the wood at a place.
    fn hangs_on(&self, at: [f64; 2]) -> Vec<bool> {
        let [w, h] = self.size;
        let mut seen = vec![false; w * h];
        let mut todo = vec![self.cell(at)];
        while let Some(cell) = todo.pop() {
            if seen[cell] || self.cut[cell] {
                continue;
            }
            seen[cell] = true;
            let (i, j) = (cell % w, cell / w);
            todo.extend((i > 0).then(|| cell - 1));
            todo.extend((i + 1 < w).then(|| cell + 1));
            todo.extend((j > 0).then(|| cell - w));
            todo.extend((j + 1 < h).then(|| cell + w));
        }
        seen
    }
}

fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    let [x, y] = [a[0] - b[0], a[1] - b[1]];
    (x * x + y * y).sqrt()
}

/// Where a move is so deep, every third of a millimetre along its chord; arcs of these programs turn
/// so little between two rows of places that chords of their halves do.
fn places(step: &Move, depth: f64) -> Vec<[f64; 2]> {
    let through = |z: f64| z <= -depth + 1e-6;
    if !through(step.from[2]) || !through(step.to[2]) {
        return Vec::new();
    }
    let [from, to] = [[step.from[0], step.from[1]], [step.to[0], step.to[1]]];
    let long =
        step.arc.as_ref().map_or_else(|| distance(from, to), |arc| arc.radius * arc.turned.abs());
    let steps = (long * 3.0).ceil().max(1.0);
    (0..=steps as u32)
        .map(|i| {
            let share = f64::from(i) / steps;
            match &step.arc {
                None => [0, 1].map(|axis| from[axis] + share * (to[axis] - from[axis])),
                Some(arc) => {
                    let (sin, cos) = libm::sincos(arc.turned * share);
                    let [x, y] = [from[0] - arc.centre[0], from[1] - arc.centre[1]];
                    [arc.centre[0] + x * cos - y * sin, arc.centre[1] + x * sin + y * cos]
                }
            }
        })
        .collect()
}

/// The panel hangs together, nothing of it is cut, and but for its tabs it is free of its sheet and of what is cut out
/// of it.
fn comes_free(made: &Made) {
    let sheet: &HoleSheet = &made.layout.board;
    let cells = Cells::of(made);
    let in_a_hole = |at: [f64; 2]| {
        sheet
            .all_holes()
            .any(|(_, hole, diameter)| distance([hole.x, hole.y], at) <= diameter / 2.0 + 0.8)
    };
    let place = (0..cells.cut.len())
        .map(|cell| cells.middle(cell))
        .find(|at| sheet.inside(*at) > 12.0 && !in_a_hole(*at))
        .expect("a panel has wood");
    let panel = cells.hangs_on(place);
    for (cell, &held) in panel.iter().enumerate() {
        let at = cells.middle(cell);
        let depth = sheet.inside(at);
        if depth > 0.8 && !in_a_hole(at) {
            assert!(held, "wood of the panel is cut at {at:?}, {depth} mm inside");
        }
        if depth < -0.8 {
            assert!(!held, "the panel hangs together with what is outside it at {at:?}");
        }
    }
}

#[test]
fn a_board_wider_than_the_bed_is_cut_out_in_parts() {
    for asked in ["tabs = 8", "tabs = 3\ncut = \"climb\""] {
        let made = board(&lobby(asked), &machines());
        assert_eq!(made.programs.len(), 2, "{asked}");
        comes_free(&made);
        let last = made.programs.last().expect("two");
        assert!(
            last.plan.laid_down().iter().any(|says| says.contains("lift the panel and its sheet"))
        );
    }
}

/// The same way round whatever the set-up: what is asked for is how the teeth meet the wood.
#[test]
fn parts_are_cut_in_the_direction_that_was_asked_for() {
    let made = [("climb", -1.0), ("conventional", 1.0)];
    for (cut, side) in made {
        let made = board(&lobby(&format!("cut = \"{cut}\"")), &machines());
        let middle = made.layout.board.size.map(|side| side / 2.0);
        for program in &made.programs {
            let lay = program.plan.setup.lay;
            let mut turned = 0.0;
            for step in &program.plan.steps {
                let Step::Cut { what: Thing::Way("the outline"), from, legs } = step else {
                    continue;
                };
                let ends = legs.iter().map(|leg| [leg.to[0], leg.to[1]]);
                let at: Vec<[f64; 2]> = std::iter::once(*from)
                    .chain(ends)
                    .map(|at| on_sheet(&lay, &made.layout.board, at.map(mm)))
                    .map(|at| [at[0] - middle[0], at[1] - middle[1]])
                    .collect();
                turned += at.windows(2).map(|w| w[0][0] * w[1][1] - w[0][1] * w[1][0]).sum::<f64>();
            }
            assert!(turned * side > 0.0, "{cut}: {turned}");
        }
    }
}

/// No bite is deeper than half the cutter, wherever the tool comes by, and it comes down on a slope.
#[test]
fn parts_are_cut_bite_by_bite() {
    let made = board(&lobby(""), &machines());
    for program in &made.programs {
        let mut floor: BTreeMap<[i64; 2], i64> = BTreeMap::new();
        for step in &program.plan.steps {
            let Step::Cut { what: Thing::Way(_), from, legs } = step else { continue };
            let mut here = [from[0], from[1], 0];
            for leg in legs {
                let at = [leg.to[0], leg.to[1]];
                let level = floor.entry(at).or_insert(0);
                assert!(*level - leg.to[2] <= 3_002, "{at:?} from {level} to {}", leg.to[2]);
                // Straight down only into what was cut before, or behind a tab by less than it is high and a bite.
                if at == [here[0], here[1]] && leg.to[2] < here[2] {
                    assert!(here[2] >= 0 || here[2] - leg.to[2] <= 3_502, "{here:?} {leg:?}");
                }
                *level = (*level).min(leg.to[2]);
                here = leg.to;
            }
        }
    }
}

#[test]
fn what_is_missing_or_wrong_over_all_set_ups_is_found() {
    let made = board(&lobby("tabs = 6"), &machines());
    let sheet = &made.layout.board;
    let all = parts(&made);
    assert_eq!(across(sheet, &all), Ok(()));
    let names = |sheet: &HoleSheet, parts: &[Part]| {
        let mut names: Vec<&str> =
            across(sheet, parts).expect_err("spoilt").iter().map(Lapse::name).collect();
        names.dedup();
        names
    };
    // One program is forgotten.
    assert_eq!(names(sheet, &all[..1]), ["not-made", "not-cut"]);
    let spoilt = |change: &dyn Fn(&mut HoleSheet)| {
        let mut other = sheet.clone();
        change(&mut other);
        names(&other, &all)
    };
    assert_eq!(spoilt(&|sheet| sheet.tabs.count = 5), ["wrong-tabs"]);
    assert_eq!(spoilt(&|sheet| sheet.tabs.length = 2.0), ["not-cut"]);
    assert_eq!(spoilt(&|sheet| sheet.tabs.height = 2.0), ["not-cut"]);
    assert_eq!(spoilt(&|sheet| sheet.thickness += 1.0), ["not-cut"]);
    assert_eq!(spoilt(&|sheet| sheet.engraved_depth = 0.9), ["gouged", "not-cut"]);
    assert_eq!(spoilt(&|sheet| sheet.engraved[0][0].x += 1.0), ["gouged", "not-cut"]);
    assert_eq!(spoilt(&|sheet| sheet.others[0].depth = Some(7.0)), ["wrong-depth"]);
    assert_eq!(spoilt(&|sheet| sheet.others[0].depth = Some(9.0)), ["wrong-depth"]);
    assert_eq!(spoilt(&|sheet| sheet.others[0].depth = None), ["wrong-depth"]);
    let narrower = |sheet: &mut HoleSheet| {
        let middle = sheet.size[0] / 2.0;
        sheet.edge.iter_mut().filter(|c| c.at[0] > middle).for_each(|c| c.at[0] -= 0.2);
    };
    assert_eq!(spoilt(&narrower), ["not-cut"], "what is left of the sheet is no part of the panel");
    let mut one_more = sheet.others[0].clone();
    one_more.name = Name::own("H9").expect("a name");
    one_more.at.x += 60.0;
    assert_eq!(spoilt(&|sheet| sheet.others.push(one_more.clone())), ["not-made"]);
}

/// The panel's edge with a thorn of a millimetre on it, 6 mm wide, in one of its pieces.
fn with_thorn(edge: &[Corner], piece: usize, share: f64) -> Vec<Corner> {
    let (from, to) = (&edge[piece], &edge[(piece + 1) % edge.len()]);
    let way = [0, 1].map(|axis| to.at[axis] - from.at[axis]);
    let angle = 4.0 * libm::atan(from.bulge);
    // A place of the piece, and a millimetre outwards from it.
    let at = |share: f64| match from.bulge {
        0.0 => {
            let long = distance(way, [0.0; 2]);
            let on = [0, 1].map(|axis| from.at[axis] + share * way[axis]);
            (on, [on[0] + way[1] / long, on[1] - way[0] / long])
        }
        bulge => {
            let off = (1.0 - bulge * bulge) / (4.0 * bulge);
            let centre = [
                from.at[0] + way[0] / 2.0 - off * way[1],
                from.at[1] + way[1] / 2.0 + off * way[0],
            ];
            let (sin, cos) = libm::sincos(angle * share);
            let [x, y] = [from.at[0] - centre[0], from.at[1] - centre[1]];
            let out = [x * cos - y * sin, x * sin + y * cos];
            let more = 1.0 + bulge.signum() / distance(out, [0.0; 2]);
            ([0, 1].map(|i| centre[i] + out[i]), [0, 1].map(|i| centre[i] + more * out[i]))
        }
    };
    let half = 3.0 / distance(at(0.0).0, at(1.0).0);
    let corner = |at: [f64; 2], share: f64| Corner { at, bulge: libm::tan(angle * share / 4.0) };
    let mut edge = edge.to_vec();
    let thorn = [
        corner(from.at, share - half),
        corner(at(share - half).0, 0.0),
        corner(at(share).1, 0.0),
        corner(at(share + half).0, 1.0 - share - half),
    ];
    edge.splice(piece..=piece, thorn);
    edge
}

/// Wherever along a leg of the cut, a straight one or a curved one, it takes what the panel is more.
#[test]
fn a_gouge_between_the_ends_of_a_leg_is_found() {
    for way in ["conventional", "climb"] {
        let text = job_text(&[
            ("panel", "[panel.arch]\nwidth = 620\nheight = 460\nrise = 120"),
            (
                "board",
                &format!(
                    "[board]\nthickness = 12\nhole = 8\ncut_out = {{ margin = 50, cut = \"{way}\" }}"
                ),
            ),
        ]);
        let made = board(&text, &machines());
        let sheet = &made.layout.board;
        let mut tried = BTreeSet::new();
        for piece in 0..sheet.edge.len() {
            let [from, to] = [piece, (piece + 1) % sheet.edge.len()].map(|i| sheet.edge[i].at);
            if distance(from, to) < 100.0 {
                continue;
            }
            for share in [0.13, 0.37, 0.83] {
                let mut other = sheet.clone();
                other.edge = with_thorn(&sheet.edge, piece, share);
                let lapses = across(&other, &parts(&made)).expect_err("a thorn is cut off");
                let found = lapses.iter().any(|lapse| lapse.name() == "gouged");
                assert!(found, "{way} {piece} {share}: {lapses:?}");
            }
            tried.insert(sheet.edge[piece].bulge == 0.0);
        }
        assert_eq!(tried.len(), 2, "straight and curved");
    }
}

#[test]
fn a_cut_that_runs_into_a_dowel_is_found() {
    let made = board(&lobby(""), &machines());
    let [first, second] = made.programs.as_slice() else { panic!("two") };
    let mut plan = second.plan.clone();
    let cut = plan.steps.iter().rev().find_map(|step| match step {
        Step::Cut { from, .. } => Some(*from),
        _ => None,
    });
    plan.setup.dowels.as_mut().expect("it stands on two")[0].at = cut.expect("it cuts the outline");
    let lapses = |plan: &Plan| {
        let lapses = across(
            &made.layout.board,
            &[
                Part { plan: &first.plan, machine: &first.machine, verified: &first.verified },
                Part { plan, machine: &second.machine, verified: &second.verified },
            ],
        );
        lapses.expect_err("the dowel is not where it was drilled for")
    };
    let struck = |plan: &Plan| {
        let lapses = lapses(plan);
        lapses.iter().any(|lapse| matches!(lapse, Lapse::DowelStruck { setup: 2, .. }))
    };
    assert!(struck(&plan), "{:?}", lapses(&plan));
    // Beside the lower edge, as far off as the cutter and half the dowel are wide.
    let legs = plan.steps.iter().filter_map(|step| match step {
        Step::Cut { what: Thing::Way("the outline"), legs, .. } => Some(legs),
        _ => None,
    });
    let lowest = legs.flatten().map(|leg| leg.to).min_by_key(|to| to[1]).expect("legs");
    let dowel = &mut plan.setup.dowels.as_mut().expect("it stands on two")[0];
    dowel.at = [lowest[0], lowest[1] - um(10.0)];
    dowel.diameter = um(13.99);
    assert!(!struck(&plan), "{:?}", lapses(&plan));
    plan.setup.dowels.as_mut().expect("it stands on two")[0].diameter = um(14.01);
    assert!(struck(&plan));
}

/// A narrower cutter for the words gets into corners that the outline's does not, and is not asked to.
#[test]
fn a_second_cutter_for_the_words_changes_nothing_for_the_outline() {
    let mut machines = machines();
    let router = machines.get_mut("bench-router").expect("there");
    let mut narrow = router.tools[2].clone();
    (narrow.number, narrow.diameter, narrow.reach) = (4, 3.0, 15.0);
    router.tools.push(narrow);
    let text = job_text(&[
        (
            "panel",
            "[panel.polygon]\npoints = [[0, 0], [700, 0], [700, 200], [600, 200], [600, 420], [0, 420]]",
        ),
        (
            "board",
            "[board]\nthickness = 12\nhole = 8\nengraved = \"AB\"\ncut_out = { margin = 30 }",
        ),
    ]);
    let made = board(&text, &machines);
    assert_eq!(made.programs[0].plan.fitted(), [1, 4, 3]);
    comes_free(&made);
}

/// What a narrower cutter leaves on the way of a wider one is not cut, and where it would get in it is asked to.
#[test]
fn a_narrower_cutter_does_not_do_for_the_wider() {
    let mut machines = machines();
    let router = machines.get_mut("bench-router").expect("there");
    let mut narrow = router.tools[2].clone();
    (narrow.number, narrow.diameter) = (4, 3.0);
    router.tools.push(narrow);
    let made = |radius: u32| {
        let opening = format!(
            "[[opening]]\nreason = \"socket\"\nat = [0, -90]\nwidth = 60\nheight = 60\nradius = {radius}"
        );
        let cut_out = "[board]\nthickness = 12\nhole = 8\ncut_out = { margin = 50 }";
        let panel = "[panel.rectangle]\nwidth = 620\nheight = 460";
        board(
            &job_text(&[("panel", panel), ("board", &format!("{cut_out}\n{opening}"))]),
            &machines,
        )
    };
    let names = |made: &Made, change: &dyn Fn(&mut Vec<Step>)| {
        let mut plan = made.programs[0].plan.clone();
        change(&mut plan.steps);
        let program = program::prove("Trial", plan, &made.programs[0].machine)
            .unwrap_or_else(|why| panic!("sound by itself: {why:?}"));
        let (plan, machine, verified) = (&program.plan, &program.machine, &program.verified);
        let lapses = across(&made.layout.board, &[Part { plan, machine, verified }]).err();
        lapses.unwrap_or_default().iter().map(Lapse::name).collect::<Vec<_>>()
    };
    let fits = |step: &Step| matches!(step, Step::Fit { tool: 3, .. });
    let fit = |steps: &[Step], number: u32| {
        let mut step = steps.iter().find(|step| fits(step)).expect("it cuts").clone();
        if let Step::Fit { tool, .. } = &mut step {
            *tool = number;
        }
        step
    };
    let first = |steps: &[Step]| steps.iter().position(fits).expect("it cuts");
    let round = made(8);
    assert_eq!(names(&round, &|_| {}), [""; 0]);
    // The opening with the narrow one, the outline with the wide one.
    let opening = |steps: &mut Vec<Step>| {
        let at = first(steps);
        let (narrow, wide) = (fit(steps, 4), fit(steps, 3));
        steps[at] = narrow;
        steps.insert(at + 2, wide);
    };
    assert_eq!(names(&round, &opening), ["not-cut"]);
    // A narrow one that goes through what falls out of the opening could have cut its corners.
    let falls_out = |steps: &mut Vec<Step>| {
        let (narrow, wide) = (fit(steps, 4), fit(steps, 3));
        let at = first(steps);
        let Step::Cut { from: [x, y], .. } = steps[at + 1] else { panic!("the opening") };
        let [middle, y] = [um(360.0), y.max(um(175.0)).min(um(205.0))];
        let from = [middle - um(12.0), y];
        let through = Leg { to: [middle + um(12.0), y, um(-12.5)], round: None };
        assert!((x - middle).abs() < um(40.0), "{x} {y}");
        steps[at] = narrow;
        steps.insert(at + 1, Step::Cut { what: Thing::Words, from, legs: vec![through] });
        steps.insert(at + 2, wide);
    };
    assert_eq!(names(&round, &falls_out), [""; 0]);
    let sharp = made(2);
    assert_eq!(names(&sharp, &|_| {}), [""; 0]);
    assert_eq!(names(&sharp, &falls_out), ["not-cut"]);
}

/// A slot that the cutter does not get into is left to hand tools, 10 mm of it at most.
#[test]
fn a_slot_that_no_cutter_gets_into_is_told_where_it_is_deep() {
    let cut_out = "[board]\nthickness = 12\nhole = 8\ncut_out = { margin = 50 }";
    let panel = "[panel.rectangle]\nwidth = 620\nheight = 460";
    let made = board(&job_text(&[("panel", panel), ("board", cut_out)]), &machines());
    let sheet = &made.layout.board;
    let lowest = |c: &Corner| c.at[1] < 51.0;
    let piece = (0..sheet.edge.len())
        .find(|&i| lowest(&sheet.edge[i]) && lowest(&sheet.edge[(i + 1) % sheet.edge.len()]));
    let piece = piece.expect("its lower edge");
    for x in [150.0, 260.0, 410.0, 570.0] {
        for (deep, found) in
            [(5.0, None), (9.5, None), (10.5, Some("not-cut")), (60.0, Some("not-cut"))]
        {
            let mut other = sheet.clone();
            let slot =
                [[x - 1.0, 50.0], [x - 1.0, 50.0 + deep], [x + 1.0, 50.0 + deep], [x + 1.0, 50.0]];
            other.edge.splice(piece + 1..piece + 1, slot.map(Corner::sharp));
            let lapses = across(&other, &parts(&made)).err().unwrap_or_default();
            let names: Vec<&str> = lapses.iter().map(Lapse::name).collect();
            assert_eq!(names, found.into_iter().collect::<Vec<_>>(), "{x} {deep}");
        }
    }
}

/// A set-up in which nothing is drilled has no holes to tell of.
#[test]
fn holes_are_counted_and_cuts_are_not_holes() {
    let made = board(&lobby(""), &machines());
    for program in &made.programs {
        let mut plan = program.plan.clone();
        assert_eq!(plan.holes(), plan.drilled().len());
        plan.steps.retain(|step| matches!(step, Step::Fit { .. } | Step::Cut { .. }));
        assert_eq!(plan.holes(), 0);
        assert!(plan.cuts() >= 1);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 8, ..ProptestConfig::default() })]

    /// Whatever the panel, the bed and its clamps: the panel comes free and whole, or the job is refused in words.
    #[test]
    fn any_board_comes_free_of_its_sheet_or_is_refused(
        size in [500u32..1300, 300u32..560],
        arched in any::<bool>(),
        margin in 15u32..60,
        bed in [450u32..900, 380u32..600],
        clamp in proptest::option::of([0u32..800, 0u32..500]),
        climb in any::<bool>(),
        opening in proptest::option::of([40u32..140, 40..110]),
        radius in prop::sample::select(vec![0, 4, 8, 15]),
        tabs in 3u32..13,
        tab_length in prop::sample::select(vec![5, 10, 20]),
    ) {
        let [w, h] = size;
        let panel = match arched {
            true => format!("[panel.arch]\nwidth = {w}\nheight = {h}\nrise = {}", h / 4),
            false => format!("[panel.rectangle]\nwidth = {w}\nheight = {h}"),
        };
        let opening = opening.map_or(String::new(), |[w, h]| {
            format!("[[opening]]\nreason = \"socket\"\nat = [20, -30]\nwidth = {w}\nheight = {h}\nradius = {radius}")
        });
        let cut = if climb { "climb" } else { "conventional" };
        let board = format!(
            "[board]\nthickness = 12\nhole = 8\n[board.cut_out]\nmargin = {margin}\ntabs = {tabs}\ntab_length = {tab_length}\ncut = \"{cut}\"\n{opening}"
        );
        let text = job_text(&[
            ("panel", &panel),
            ("board", &board),
            ("fabric", "[fabric]\nroll_width = 3400\nturn_in = 75"),
        ]);
        let clamp = clamp.map(|[x, y]| {
            let [x, y] = [f64::from(x.min(bed[0] - 40)), f64::from(y.min(bed[1] - 30))];
            KeepClear { x: [x, x + 40.0], y: [y, y + 30.0], height: 25.0 }
        });
        let clamps: Vec<KeepClear> = clamp.into_iter().collect();
        let machines = router(bed.map(f64::from), [1500.0, 1500.0, 300.0, 300.0], &clamps);
        match make(&text, &machines, &[Work::Board]) {
            Ok(made) => comes_free(&made),
            Err(Refused::Job(wrong)) => prop_assert!(!wrong.is_empty()),
            Err(Refused::Program(unproven)) => prop_assert!(false, "{unproven:?}"),
        }
    }
}
