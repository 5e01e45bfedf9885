//! What a board's cuts leave of its edge, by ways that no plan of ours would take: each program is sound by itself, and
//! the proof over the sheet alone tells whether the panel comes free.

use crate::demo::{board, job, job_text, machines};
use bradawl::{
    frame::Point,
    layout::{Edge, HoleSheet, Name},
    machine::Machine,
    make::Made,
    outline::Corner,
    plan::{Dowel, Leg, Plan, Round, Step, Thing, um},
    program::{self, Program},
    verify::{Lapse, Part, across},
};
use std::{collections::BTreeMap, sync::LazyLock};

/// Right through, and over a tab: the board is 12 mm thick, and 3 mm are left.
const THROUGH: f64 = -12.5;
const TAB: f64 = -9.0;
const WIDE: u32 = 3;
const NARROW: u32 = 4;

/// A panel of 620 by 460 in a sheet of 720 by 560, and cutters of 6 and 3 mm.
static MADE: LazyLock<(Made, Machine)> = LazyLock::new(|| {
    let mut machines: BTreeMap<String, Machine> = machines();
    let router = machines.get_mut("bench-router").expect("there");
    let mut narrow = router.tools[2].clone();
    (narrow.number, narrow.diameter) = (NARROW, 3.0);
    router.tools.push(narrow);
    let machine = router.clone();
    let text = job_text(&[
        ("panel", "[panel.rectangle]\nwidth = 620\nheight = 460"),
        ("board", "[board]\nthickness = 12\nhole = 8\ncut_out = { margin = 50, tabs = 3 }"),
    ]);
    (board(&job(&text), &machines).unwrap_or_else(|refused| panic!("{refused:#?}")), machine)
});

fn sheet() -> HoleSheet {
    let sheet = MADE.0.layout.board.clone();
    assert_eq!((sheet.size, sheet.edge.len(), sheet.tabs.length), ([720.0, 560.0], 4, 10.0));
    sheet
}

/// A way of a tool, from place to place, each with the depth at which the tool comes there.
type Way = (u32, Vec<([f64; 2], f64)>);

fn fit(number: u32) -> Step {
    let fits = |step: &&Step| matches!(step, Step::Fit { tool: WIDE, .. });
    let mut fit = MADE.0.programs[0].plan.steps.iter().find(fits).expect("it is cut out").clone();
    if let Step::Fit { tool, .. } = &mut fit {
        *tool = number;
    }
    fit
}

/// A program of these steps alone, or with the sheet's own holes before them.
fn proven(holes: bool, steps: Vec<Step>) -> Program {
    let (made, machine) = &*MADE;
    let mut plan: Plan = made.programs[0].plan.clone();
    assert_eq!(plan.setup.lay.place([um(1.0), um(2.0)]), [um(1.0), um(2.0)]);
    plan.steps
        .retain(|step| holes && !matches!(step, Step::Cut { .. } | Step::Fit { tool: WIDE, .. }));
    plan.steps.extend(steps);
    program::prove("Trial", plan, machine).unwrap_or_else(|why| panic!("sound by itself: {why:?}"))
}

fn program(holes: bool, ways: &[Way]) -> Program {
    let mut steps = Vec::new();
    for (tool, way) in ways {
        let from = way[0].0.map(um);
        let mut here = [from[0], from[1], 0];
        let mut legs = Vec::new();
        for (at, z) in way {
            let [x, y] = at.map(um);
            // Straight down or up first.
            for to in [[here[0], here[1], um(*z)], [x, y, um(*z)]] {
                if to != here {
                    legs.push(Leg { to, round: None });
                    here = to;
                }
            }
        }
        steps.extend([fit(*tool), Step::Cut { what: Thing::Way("the outline"), from, legs }]);
    }
    proven(holes, steps)
}

fn lapses(sheet: &HoleSheet, programs: &[&Program]) -> Vec<Lapse> {
    let parts: Vec<Part> = programs
        .iter()
        .map(|p| Part { plan: &p.plan, machine: &p.machine, verified: &p.verified })
        .collect();
    across(sheet, &parts).err().unwrap_or_default()
}

fn names(sheet: &HoleSheet, programs: &[&Program]) -> Vec<&'static str> {
    let mut names: Vec<_> = lapses(sheet, programs).iter().map(Lapse::name).collect();
    names.dedup();
    names
}

/// Round the panel with the wide cutter, over three tabs: one by these places, which ends on the lower side or beyond
/// its right corner, and two on the right and the upper side.
fn outline(tab: &[[f64; 2]], depth: f64) -> Way {
    let mut way = vec![([47.0, 513.0], THROUGH), ([47.0, 47.0], THROUGH), (tab[0], THROUGH)];
    way.extend(tab.iter().map(|at| (*at, depth)));
    let end = tab[tab.len() - 1];
    way.push((end, THROUGH));
    way.extend((end[0] < 673.0).then_some(([673.0, 47.0], THROUGH)));
    for [from, to] in [[[673.0, 201.0], [673.0, 217.0]], [[419.0, 513.0], [403.0, 513.0]]] {
        way.extend([(from, THROUGH), (from, depth), (to, depth), (to, THROUGH)]);
        way.extend((to[0] == 673.0).then_some(([673.0, 513.0], THROUGH)));
    }
    way.push(([47.0, 513.0], THROUGH));
    (WIDE, way)
}

/// On the lower side, 18 mm from the first place of the edge that is left to the last: they are every 2 mm.
const STRAIGHT: [[f64; 2]; 2] = [[199.0, 47.0], [219.0, 47.0]];

/// Through the waste, for which any cutter will do.
fn in_the_waste(tool: u32) -> Way {
    (tool, vec![([200.0, 20.0], THROUGH), ([230.0, 20.0], THROUGH)])
}

fn straight() -> Program {
    program(true, &[outline(&STRAIGHT, TAB)])
}

fn of_length(length: f64) -> HoleSheet {
    let mut sheet = sheet();
    sheet.tabs.length = length;
    sheet
}

/// What a tab may be longer is the cutter's width and two places of the edge.
#[test]
fn a_tab_is_no_longer_than_its_length_and_the_cutter() {
    let wide = straight();
    let both = program(true, &[in_the_waste(NARROW), outline(&STRAIGHT, TAB)]);
    for program in [wide, both] {
        assert_eq!(names(&of_length(8.5), &[&program]), [""; 0]);
        assert_eq!(names(&of_length(7.5), &[&program]), ["not-cut"]);
    }
}

/// The tool's own way counts: round a corner it is longer than the edge.
#[test]
fn a_tab_round_a_corner_is_measured_where_the_tool_goes() {
    let round = program(true, &[outline(&[[661.0, 47.0], [673.0, 47.0], [673.0, 59.0]], TAB)]);
    // Four steps on either side, and from side to side of the corner.
    assert_eq!(names(&of_length(10.5), &[&round]), [""; 0]);
    assert_eq!(names(&of_length(10.0), &[&round]), ["not-cut"]);
}

/// Wherever one set-up leaves a tab, another must not cut it.
#[test]
fn tabs_that_another_set_up_cuts_are_none() {
    let [tabs, none] = [TAB, THROUGH].map(|depth| program(false, &[outline(&STRAIGHT, depth)]));
    let holes = program(true, &[in_the_waste(WIDE)]);
    assert_eq!(names(&sheet(), &[&holes, &tabs]), [""; 0]);
    assert_eq!(names(&sheet(), &[&holes, &tabs, &none]), ["wrong-tabs"]);
    assert_eq!(names(&sheet(), &[&holes, &none, &tabs]), ["wrong-tabs"]);
}

#[test]
fn an_outline_that_is_a_tab_all_the_way_is_not_cut() {
    let (tool, mut way) = outline(&STRAIGHT, TAB);
    way.iter_mut().for_each(|(_, z)| *z = TAB);
    let shallow = program(true, &[in_the_waste(WIDE), (tool, way)]);
    let sheet = sheet();
    let at = sheet.edge_places(Edge::Outline, 2.0)[0].0;
    assert_eq!(lapses(&sheet, &[&shallow]), [Lapse::NotCut { what: "the outline", at }]);
}

/// The sheet with a slot up into the panel from its lower edge, on this side of its middle.
fn with_slot(wide: f64, deep: f64, bulge: f64) -> HoleSheet {
    let mut sheet = sheet();
    let low = |i: usize| sheet.edge[i % 4].at[1] < 51.0;
    let piece = (0..4).find(|&i| low(i) && low(i + 1)).expect("its lower edge");
    let [from, to] = [SLOT - wide / 2.0, SLOT + wide / 2.0];
    let top = Corner { at: [from, 50.0 + deep], bulge };
    let slot = [
        Corner::sharp([from, 50.0]),
        top,
        Corner::sharp([to, 50.0 + deep]),
        Corner::sharp([to, 50.0]),
    ];
    sheet.edge.splice(piece + 1..piece + 1, slot);
    sheet
}

const SLOT: f64 = 341.0;

/// Where a wider cutter does not fit by a hair, it does not do for a narrower one.
#[test]
fn a_slot_that_a_cutter_hardly_fits_is_left_to_a_narrower_one() {
    let slot = (WIDE, vec![([SLOT, 47.0], THROUGH), ([SLOT, 80.0], THROUGH)]);
    let wide = [slot, outline(&STRAIGHT, TAB)];
    let both = [&[in_the_waste(NARROW)], &wide[..]].concat();
    let [wide, both] = [&wide[..], &both].map(|ways| program(true, ways));
    for (width, program, found) in [
        (6.0, &wide, None),
        (6.0, &both, None),
        (5.985, &wide, None),
        (5.985, &both, Some("not-cut")),
    ] {
        // Half round at its end.
        let lapses = names(&with_slot(width, 30.0, -1.0), &[program]);
        assert_eq!(lapses, found.into_iter().collect::<Vec<_>>(), "{width}");
    }
}

/// Letters are on the panel, 1 mm deep; this one stands 20 mm from the edge.
fn with_letter(mut sheet: HoleSheet) -> HoleSheet {
    sheet.engraved = vec![[SLOT - 5.0, SLOT + 5.0].map(|x| Point::new(x, 70.0)).to_vec()];
    sheet.engraved_depth = 1.0;
    sheet
}

fn letter(depth: f64) -> Way {
    (WIDE, [SLOT - 5.0, SLOT + 5.0].map(|x| ([x, 70.0], -depth)).to_vec())
}

/// What is cut near the end of a slot counts only where it goes right through.
#[test]
fn a_letter_beside_a_slot_does_not_cut_it() {
    let program = program(true, &[letter(1.0), outline(&STRAIGHT, TAB)]);
    assert_eq!(names(&with_letter(with_slot(2.0, 9.5, 0.0)), &[&program]), [""; 0]);
    assert_eq!(names(&with_letter(with_slot(2.0, 15.0, 0.0)), &[&program]), ["not-cut"]);
}

/// Deep enough is deep enough, whichever set-up comes by there as well.
#[test]
fn letters_are_as_deep_as_their_deepest_set_up() {
    let sheet = with_letter(sheet());
    let [half, whole, deeper] =
        [0.5, 1.0, 1.5].map(|depth| program(false, &[letter(depth), in_the_waste(WIDE)]));
    let rest = straight();
    assert_eq!(names(&sheet, &[&rest, &half]), ["not-cut"]);
    assert_eq!(names(&sheet, &[&rest, &half, &whole]), [""; 0]);
    assert_eq!(names(&sheet, &[&rest, &whole, &half]), [""; 0]);
    assert_eq!(names(&sheet, &[&rest, &whole, &deeper]), ["gouged", "not-cut"]);
}

/// The cutter's way is looked at so often that no thorn of a fifth of a millimetre is between two places.
#[test]
fn a_small_thorn_anywhere_on_a_long_way_is_cut_off() {
    let program = straight();
    for i in 0..8 {
        let mut other = with_slot(1.0, -0.25, 0.0);
        let x = 300.0 + f64::from(i) * 0.5;
        let thorn =
            other.edge.iter_mut().filter(|c| c.at[1] < 50.5 && (c.at[0] - SLOT).abs() < 1.0);
        for (corner, off) in thorn.zip([-0.5, -0.1, 0.1, 0.5]) {
            corner.at[0] = x + off;
        }
        assert!(names(&other, &[&program]).contains(&"gouged"), "{x}");
    }
}

/// A cut that is one arc from the top of the work: near either end of it, the nearer end counts.
#[test]
fn a_dowel_beyond_an_end_of_an_arc_is_struck() {
    // From the right of its centre anticlockwise, 143 degrees of a circle of 30 mm.
    let from = [390.0, 280.0];
    let to = [336.0, 298.0];
    for (from, to, way) in [(from, to, Round::Anticlockwise), (to, from, Round::Clockwise)] {
        let legs = vec![Leg {
            to: [um(to[0]), um(to[1]), um(-3.0)],
            round: Some(([360.0, 280.0].map(um), way)),
        }];
        let cut = Step::Cut { what: Thing::Words, from: from.map(um), legs };
        let mut program = proven(false, vec![fit(WIDE), cut]);
        program.plan.setup.number = 2;
        // 8 mm straight on from either end.
        for at in [[390.0, 272.0], [331.2, 291.6]] {
            for (diameter, found) in [(9.98, false), (10.02, true)] {
                let dowel = |at: [f64; 2]| Dowel {
                    hole: Name::own("D1").expect("a name"),
                    at: at.map(um),
                    diameter: um(diameter),
                    depth: um(10.0),
                    through: um(12.0),
                };
                program.plan.setup.dowels = Some([dowel([100.0, 100.0]), dowel(at)]);
                let lapses = lapses(&sheet(), &[&program]);
                let struck = lapses.iter().any(|lapse| matches!(lapse, Lapse::DowelStruck { .. }));
                assert_eq!(struck, found, "{way:?} {at:?} {diameter}");
            }
        }
    }
}
