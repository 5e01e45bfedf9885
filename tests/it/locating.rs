//! Holes for dowels alone, where the job allows them and those for the twine do not suit.

use crate::demo::{home, job, job_text, machines, source};
use bradawl::{
    layout::Name,
    machine::{self, Machine},
    make::{Made, Refused},
    plan::{Dowel, Plan, Step, mm, um},
    program,
    verify::{Part, across},
};
use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
};

/// The bench router with a 4 mm bit besides.
fn with_thin_bit() -> BTreeMap<String, Machine> {
    let text = fs::read_to_string(home().join("machines/bench-router.toml")).expect("it is there");
    let bit = "\n[[tool]]\nnumber = 7\nname = \"4 mm bit\"\nwork = [\"board\"]\ndiameter = 4\nreach = 40\nrpm = 5000\nfeed = 250\nsideways = false\n";
    let router = machine::read("bench-router", &source(&(text + bit))).expect("it can be read");
    let mut machines = machines();
    machines.insert("bench-router".to_string(), router);
    machines
}

/// A headboard with holes of 4 mm for the twine, which no dowel fits.
fn headboard(board: &str) -> String {
    job_text(&[
        ("panel", "[panel.rectangle]\nwidth = 2030\nheight = 760"),
        ("pattern", "[pattern.diamond]\nwidth = 200\nheight = 290\nedge = 90"),
        ("fabric", "[fabric]\nroll_width = 3400\nturn_in = 75"),
        ("allowance", "[fabric.allowance.measured]\nacross = 32\ndown = 32"),
        ("board", &format!("[board]\nthickness = 12\nhole = 4\n{board}")),
    ])
}

/// Four pairs, 560 mm from one to the next, each within the bed's depth.
const ALLOWED: &str = "[board.locating]\nhole = 8\nat = [[-960, 250], [-960, -250], [-400, 250], [-400, -250], [160, 250], [160, -250], [720, 250], [720, -250]]\n";

fn make(text: &str, machines: &BTreeMap<String, Machine>) -> Result<Made, Refused> {
    crate::demo::board(&job(text), machines)
}

#[test]
fn a_board_with_thin_holes_stands_on_dowels_in_holes_of_their_own() {
    let machines = with_thin_bit();
    match make(&headboard(""), &machines) {
        Err(Refused::Job(wrong)) => {
            assert!(wrong[0].message.contains("dowels of 4 mm bend"), "{}", wrong[0].message);
            // What it says to write can be written, and is enough.
            let help = wrong[0].help.as_deref().expect("it says what to write");
            let (_, at) = help.split_once("at = ").expect("places");
            let (at, _) = at.split_once("]];").expect("their end");
            let proposed = format!("[board.locating]\nhole = 8\nat = {at}]]\n");
            make(&headboard(&proposed), &machines).unwrap_or_else(|why| panic!("{at}: {why:?}"));
        }
        other => panic!("{other:?}"),
    }
    let made = make(&headboard(ALLOWED), &machines).expect("it can be made");
    assert_eq!(made.programs.len(), 3);
    let mut drilled: BTreeMap<Name, Vec<u32>> = BTreeMap::new();
    let mut stood_on: BTreeSet<Name> = BTreeSet::new();
    for program in &made.programs {
        let dowels = program.plan.setup.dowels.expect("there are dowels");
        for dowel in dowels {
            assert_eq!(mm(dowel.diameter), 8.0);
            assert!(dowel.hole.to_string().starts_with('L'), "{}", dowel.hole);
            stood_on.insert(dowel.hole);
        }
        let mut fitted = 0;
        for step in &program.plan.steps {
            match step {
                Step::Fit { tool, .. } => fitted = *tool,
                Step::Drill { name, .. } => drilled.entry(*name).or_default().push(fitted),
                other => panic!("{other:?}"),
            }
        }
    }
    // Each button's hole once, by the thin bit; of the others those that a dowel stands in, by the thick one.
    for (name, tools) in &drilled {
        let of_dowel = name.column() == 0;
        assert_eq!(tools.as_slice(), if of_dowel { [1] } else { [7] }, "{name}");
        assert!(!of_dowel || stood_on.contains(name), "{name}");
    }
    let places = &made.layout.board.places;
    assert_eq!(drilled.len(), places.len() + stood_on.len());
    assert!(places.iter().all(|(name, _)| drilled.contains_key(name)));
    // Two kinds of hole, two bits, one change; both are fitted only where both are needed.
    assert_eq!(made.programs[0].plan.fitted().len(), 2);
    let last = made.programs.last().expect("three");
    assert_eq!(last.plan.fitted(), [7]);
    let head = made.programs[0].verified.text();
    assert!(head.contains("8 mm thick"), "{head}");
    let report = String::from_utf8(made.files["report.json"].clone()).expect("text");
    assert!(report.contains("\"name\": \"L1\"") || report.contains("\"name\": \"L2\""), "{report}");
}

#[test]
fn holes_of_their_own_are_not_made_where_the_twines_do() {
    let wide = headboard(ALLOWED).replace("hole = 4", "hole = 8");
    let made = make(&wide, &machines()).expect("it can be made");
    assert_eq!(made.programs.len(), 3);
    let steps = made.programs.iter().flat_map(|p| &p.plan.steps);
    assert!(steps.clone().any(|step| matches!(step, Step::Drill { .. })));
    assert!(
        steps.clone().all(|step| !matches!(step, Step::Drill { name, .. } if name.column() == 0))
    );
}

/// Two buttons at each end, and no way to push the board on by its own holes.
#[test]
fn a_board_with_few_buttons_stands_on_dowels_in_holes_of_their_own() {
    let few = job_text(&[
        ("panel", "[panel.rectangle]\nwidth = 2030\nheight = 480"),
        ("pattern", "[pattern.diamond]\nacross = 2\nrows = 2\nedge = 90"),
        ("fabric", "[fabric]\nroll_width = 3000\nturn_in = 75"),
        (
            "board",
            "[board]\nthickness = 12\nhole = 8\n[board.locating]\nhole = 6\nat = [[-900, 200], [-900, -200], [-100, 200], [-100, -200], [700, 200], [700, -200]]",
        ),
    ]);
    let made = make(&few, &machines()).expect("it can be made");
    assert!(made.programs.len() > 1);
    for program in &made.programs {
        let dowels = program.plan.setup.dowels.expect("there are dowels");
        assert!(dowels.iter().all(|dowel| mm(dowel.diameter) == 6.0));
    }
}

/// The proof over all set-ups knows holes for dowels from the layout.
#[test]
fn a_hole_for_a_dowel_that_is_spoilt_is_objected_to() {
    let machines = with_thin_bit();
    let made = make(&headboard(ALLOWED), &machines).expect("it can be made");
    let sheet = &made.layout.board;
    let plans: Vec<_> = made.programs.iter().map(|p| p.plan.clone()).collect();
    let hold = |plans: &[bradawl::plan::Plan]| -> BTreeSet<&str> {
        let programs: Vec<_> = plans
            .iter()
            .map(|plan| {
                let machine = &machines["bench-router"];
                program::prove("Trial", plan.clone(), machine).expect("each by itself is sound")
            })
            .collect();
        let parts: Vec<Part> = programs
            .iter()
            .map(|p| Part { plan: &p.plan, machine: &p.machine, verified: &p.verified })
            .collect();
        across(sheet, &parts).err().unwrap_or_default().iter().map(|lapse| lapse.name()).collect()
    };
    assert!(hold(&plans).is_empty());
    // Left out.
    let mut out = plans.clone();
    out[0].steps.retain(|step| !matches!(step, Step::Drill { name, .. } if name.column() == 0));
    out[0].steps.retain(|step| !matches!(step, Step::Fit { tool: 1, .. }));
    let found = hold(&out);
    assert!(found.contains("no-dowel-hole") && found.contains("not-drilled-yet"), "{found:?}");
    // Drilled with the thin bit.
    let mut thin = plans.clone();
    thin[0].steps.retain(|step| !matches!(step, Step::Fit { tool: 1, .. }));
    thin[0].steps.sort_by_key(|step| !matches!(step, Step::Fit { .. }));
    assert!(hold(&thin).contains("wrong-diameter"));
}

#[test]
fn the_other_hand_has_its_holes_for_dowels_on_the_other_side() {
    let text = headboard("[board.locating]\nhole = 8\nat = [[-960, 350], [-480, 340]]\n");
    let text = text.replacen("units =", "hand = \"pair\"\nunits =", 1);
    let hands = job(&text).hands();
    let places = |job: &bradawl::job::Job| -> Vec<[f64; 2]> {
        let locating = job.board.locating.as_ref().expect("it has some");
        locating.at.iter().map(|at| at.value).collect()
    };
    assert_eq!(places(&hands[0]), [[-960.0, 350.0], [-480.0, 340.0]]);
    assert_eq!(places(&hands[1]), [[960.0, 350.0], [480.0, 340.0]]);
}

/// Dowels a hair from where the holes are, longer than those are deep, or too wide for what is drilled beside them.
#[test]
fn a_dowel_hardly_out_of_its_hole_is_objected_to() {
    let made = make(&headboard(ALLOWED), &with_thin_bit()).expect("it can be made");
    let sheet = &made.layout.board;
    let lapses = |change: &dyn Fn(&mut Dowel)| -> BTreeSet<&str> {
        let mut plans: Vec<Plan> = made.programs.iter().map(|p| p.plan.clone()).collect();
        change(&mut plans[1].setup.dowels.as_mut().expect("it stands on two")[0]);
        let parts: Vec<Part> = plans
            .iter()
            .zip(&made.programs)
            .map(|(plan, p)| Part { plan, machine: &p.machine, verified: &p.verified })
            .collect();
        across(sheet, &parts).err().unwrap_or_default().iter().map(|lapse| lapse.name()).collect()
    };
    let nothing = BTreeSet::new();
    for axis in 0..2 {
        for sign in [1, -1] {
            let moved = |by: i64| lapses(&move |dowel| dowel.at[axis] += sign * by);
            assert_eq!(moved(1), nothing);
            assert_eq!(moved(4), BTreeSet::from(["dowel-astray"]));
            assert_eq!(moved(7), BTreeSet::from(["dowel-astray", "no-dowel-hole"]));
        }
    }
    assert_eq!(lapses(&|dowel| dowel.depth += 4), nothing);
    assert_eq!(lapses(&|dowel| dowel.depth += 6), BTreeSet::from(["no-dowel-hole"]));
    // The nearest hole of the second set-up, half of it and half of the dowel apart.
    let plan = &made.programs[1].plan;
    let dowel = plan.setup.dowels.expect("dowels")[0];
    let apart = |at: [i64; 2]| {
        let [x, y] = [0, 1].map(|axis| mm(at[axis] - dowel.at[axis]));
        (x * x + y * y).sqrt()
    };
    let nearest = plan.drilled().into_iter().map(apart).fold(f64::INFINITY, f64::min);
    let wide = |by: f64| um(2.0 * nearest - sheet.hole + by);
    assert_eq!(lapses(&|dowel| dowel.diameter = wide(-0.01)), nothing);
    assert_eq!(lapses(&|dowel| dowel.diameter = wide(0.01)), BTreeSet::from(["dowel-struck"]));
}
