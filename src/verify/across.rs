//! The proof over all set-ups of one sheet: every hole once, and the dowels where they were drilled for.
//!
//! Each program is proven by itself before. Here what the rehearsals did is carried back onto the sheet
//! and held against the layout's own list of holes, which no set-up was asked for as a whole.

use super::{
    SLACK, Verified, Visit, cuts, distance, near,
    strokes::{Run, runs},
    visits,
    whole::{self, Cuts},
};
use crate::{
    layout::{HoleSheet, Name},
    machine::{Machine, Tool, Work},
    plan::{Plan, Um, mm, um},
    sim::{Move, PenState},
};
use std::{collections::BTreeMap, fmt};

/// Places on the sheet were rounded before they were turned and shifted, so they agree to the micrometre;
/// a lattice's two holes on the dowels may be one apart.
const ROUNDED: Um = 2;

/// A cutter may graze the panel's edge by as much, mm: the edge is arcs and lines rounded to the micrometre.
pub(super) const GRAZE: f64 = 0.02;
/// A way is looked at every so many millimetres.
const LOOK: f64 = 2.0;
/// A hole may be so much wider or narrower than the sheet has it, mm.
const SAME_DIAMETER: f64 = 0.05;

/// One set-up of a sheet, proven by itself.
pub struct Part<'a> {
    pub plan: &'a Plan,
    pub machine: &'a Machine,
    pub verified: &'a Verified,
}

/// Why the set-ups together do not make the sheet.
#[derive(Debug, Clone, PartialEq)]
pub enum Lapse {
    NotMade {
        name: Name,
    },
    MadeTwice {
        name: Name,
        setups: [u32; 2],
    },
    /// The bit that goes into it last leaves another diameter than the sheet has, mm, or one before it is wider.
    WrongDiameter {
        setup: u32,
        name: Name,
        found: f64,
        wanted: f64,
    },
    /// A line of the cover that no set-up draws, mm from the cloth's corner.
    NotDrawn {
        what: String,
        at: [f64; 2],
    },
    DrawnTwice {
        what: String,
        setups: [u32; 2],
        at: [f64; 2],
    },
    /// The cloth is to be laid by a cross that is not there.
    NoCross {
        setup: u32,
        at: [f64; 2],
    },
    /// Something is made where nothing is wanted, mm from the sheet's corner.
    Unwanted {
        setup: u32,
        at: [f64; 2],
    },
    /// The spoilboard has no hole where a dowel is to stand.
    NoDowelHole {
        setup: u32,
        name: Name,
    },
    /// The board's hole would not be over the dowel.
    DowelAstray {
        setup: u32,
        name: Name,
    },
    /// The hole on a dowel is not drilled yet, or only in this very set-up.
    NotDrilledYet {
        setup: u32,
        name: Name,
    },
    /// The deepest that a bit goes into it is not what the sheet has, mm.
    WrongDepth {
        setup: u32,
        name: Name,
        found: f64,
        wanted: f64,
    },
    /// A place of an edge or of the engraved words is not cut, or no deeper than a tab where there should be none, mm from
    /// the sheet's corner.
    NotCut {
        what: &'static str,
        at: [f64; 2],
    },
    /// Bridges that hold the panel, or what is cut out of it, are too few or too many.
    WrongTabs {
        what: &'static str,
        found: u32,
        wanted: u32,
    },
    /// A bridge is lower or shorter than it was asked for, mm from the sheet's corner.
    WeakTab {
        what: &'static str,
        at: [f64; 2],
    },
    /// A cut takes wood that belongs to the panel, mm from the sheet's corner.
    Gouged {
        setup: u32,
        line: u64,
        at: [f64; 2],
    },
    /// A tool or its pen comes nearer to a dowel than both are wide.
    DowelStruck {
        setup: u32,
        line: u64,
        name: Name,
    },
}

impl Lapse {
    pub fn name(&self) -> &'static str {
        match self {
            Lapse::NotMade { .. } => "not-made",
            Lapse::MadeTwice { .. } => "made-twice",
            Lapse::WrongDiameter { .. } => "wrong-diameter",
            Lapse::WrongDepth { .. } => "wrong-depth",
            Lapse::NotCut { .. } => "not-cut",
            Lapse::WrongTabs { .. } => "wrong-tabs",
            Lapse::WeakTab { .. } => "weak-tab",
            Lapse::NotDrawn { .. } => "not-drawn",
            Lapse::DrawnTwice { .. } => "drawn-twice",
            Lapse::NoCross { .. } => "no-cross",
            Lapse::Unwanted { .. } => "unwanted",
            Lapse::NoDowelHole { .. } => "no-dowel-hole",
            Lapse::DowelAstray { .. } => "dowel-astray",
            Lapse::NotDrilledYet { .. } => "not-drilled-yet",
            Lapse::DowelStruck { .. } => "dowel-struck",
            Lapse::Gouged { .. } => "gouged",
        }
    }
}

impl fmt::Display for Lapse {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Lapse::NotMade { name } => write!(f, "hole {name} is made in no set-up"),
            Lapse::MadeTwice { name, setups: [a, b] } => {
                write!(f, "hole {name} is made in set-up {a} and again in set-up {b}")
            }
            Lapse::WrongDiameter { setup, name, found, wanted } => {
                write!(f, "in set-up {setup} hole {name} becomes {found} mm wide, not {wanted} mm")
            }
            Lapse::WrongDepth { setup, name, found, wanted } => {
                write!(f, "in set-up {setup} hole {name} becomes {found} mm deep, not {wanted} mm")
            }
            Lapse::NotCut { what, at: [x, y] } => {
                write!(f, "{what} is not cut at {x:.2}, {y:.2} of the sheet in any set-up")
            }
            Lapse::WrongTabs { what, found, wanted } => {
                write!(f, "{what} is left with {found} tabs, not {wanted}")
            }
            Lapse::WeakTab { what, at: [x, y] } => {
                write!(f, "a tab of {what} at {x:.2}, {y:.2} of the sheet is too low or too short")
            }
            Lapse::NotDrawn { what, at: [x, y] } => {
                write!(f, "{what} at {x}, {y} of the cloth is drawn in no set-up")
            }
            Lapse::DrawnTwice { what, setups: [a, b], at: [x, y] } => {
                write!(f, "{what} at {x}, {y} of the cloth is drawn in set-up {a} and again in {b}")
            }
            Lapse::NoCross { setup, at: [x, y] } => {
                write!(
                    f,
                    "set-up {setup} is laid by a cross at {x}, {y} of the cloth, which the one before did not draw"
                )
            }
            Lapse::Unwanted { setup, at: [x, y] } => {
                write!(f, "set-up {setup} makes something at {x}, {y} of the sheet, unwanted")
            }
            Lapse::NoDowelHole { setup, name } => write!(
                f,
                "in set-up {setup} hole {name} would be dropped onto a dowel that no program drilled for"
            ),
            Lapse::DowelAstray { setup, name } => {
                write!(f, "in set-up {setup} hole {name} would not lie over its dowel")
            }
            Lapse::NotDrilledYet { setup, name } => {
                write!(
                    f,
                    "in set-up {setup} hole {name} is to be on a dowel and is not drilled before"
                )
            }
            Lapse::Gouged { setup, line, at: [x, y] } => {
                write!(
                    f,
                    "line {line} of set-up {setup} cuts into the panel at {x:.2}, {y:.2} of the sheet"
                )
            }
            Lapse::DowelStruck { setup, line, name } => {
                write!(f, "line {line} of set-up {setup} runs into the dowel in hole {name}")
            }
        }
    }
}

/// Holds all set-ups of `sheet` together against it. All lapses come back at once.
pub fn across(sheet: &HoleSheet, parts: &[Part]) -> Result<(), Vec<Lapse>> {
    let holes: Vec<(Name, _, f64)> = sheet.all_holes().collect();
    let places: Vec<(Name, [Um; 2])> =
        holes.iter().map(|(name, at, _)| (*name, [um(at.x), um(at.y)])).collect();
    let by_place: BTreeMap<[Um; 2], usize> =
        places.iter().enumerate().map(|(i, (_, at))| (*at, i)).collect();
    let mut lapses = Vec::new();
    let mut made: Vec<Option<u32>> = vec![None; places.len()];
    let mut deep: Vec<Visit> = Vec::new();
    let mut all_ways: Vec<Cuts> = Vec::new();
    for part in parts {
        let setup = part.plan.setup.number;
        let trace = part.verified.trace();
        let cuts = cuts::made(part.plan, trace, part.machine, SLACK);
        for cut in &cuts {
            lapses.extend(gouge(sheet, part, &trace[cut.clone()]));
        }
        let visits = visits(trace, &cuts, part.machine);
        let ways = Cuts::of(part, &cuts);
        stand(part, &places, &made, &deep, &visits, &ways, &mut lapses);
        all_ways.push(ways);
        let grooves: Vec<[[Um; 2]; 2]> = sheet
            .grooves
            .iter()
            .map(|ends| ends.map(|end| part.plan.setup.lay.place([um(end.x), um(end.y)])))
            .collect();
        // Several bits may go into one hole.
        let mut into: BTreeMap<usize, Vec<&Visit>> = BTreeMap::new();
        let here = |at: [Um; 2], lapses: &mut Vec<Lapse>| {
            let on_sheet = part.plan.setup.lay.back(at);
            let found = near(&by_place, on_sheet).copied();
            if found.is_none() {
                lapses.push(Lapse::Unwanted { setup, at: on_sheet.map(mm) });
            }
            found
        };
        for visit in &visits {
            if let Some(i) = here(visit.at.map(um), &mut lapses) {
                into.entry(i).or_default().push(visit);
            }
        }
        for (&i, visits) in &into {
            lapses.extend(diameter(part, holes[i].2, places[i].0, visits));
            lapses.extend(depth(sheet, part, places[i].0, visits));
        }
        let marked: Vec<usize> =
            marks(trace, &grooves).into_iter().filter_map(|at| here(at, &mut lapses)).collect();
        for i in into.into_keys().chain(marked) {
            if let Some(before) = made[i].replace(setup) {
                lapses.push(Lapse::MadeTwice { name: places[i].0, setups: [before, setup] });
            }
        }
        deep.extend(visits);
    }
    // Those for dowels need not be made; that no dowel is without its hole is seen above.
    let for_dowels = sheet.places.len()..sheet.holes().count();
    let missing = (0..places.len()).filter(|i| made[*i].is_none() && !for_dowels.contains(i));
    lapses.extend(missing.map(|i| Lapse::NotMade { name: places[i].0 }));
    lapses.extend(whole::left(sheet, &all_ways));
    if lapses.is_empty() { Ok(()) } else { Err(lapses) }
}

/// Does a hole of the board go right through all that lies there, or as deep as it is asked for?
fn depth(sheet: &HoleSheet, part: &Part, name: Name, visits: &[&Visit]) -> Option<Lapse> {
    if sheet.work != Work::Board {
        return None;
    }
    let other = sheet.others.iter().find(|other| other.name == name);
    let found = -visits.iter().map(|visit| visit.lowest).fold(0.0, f64::min);
    let (wanted, right) = match other.and_then(|other| other.depth) {
        Some(wanted) => (wanted, (found - wanted).abs() <= mm(SLACK)),
        None => (mm(part.plan.size[2]), found >= mm(part.plan.size[2] - SLACK)),
    };
    let setup = part.plan.setup.number;
    (!right).then_some(Lapse::WrongDepth { setup, name, found, wanted })
}

/// Is a hole as wide as the sheet has it, when all bits have been in it? What only marks where another
/// starts, no deeper than its file says, does not count.
fn diameter(part: &Part, wanted: f64, name: Name, visits: &[&Visit]) -> Option<Lapse> {
    let whole = visits.iter().filter(|visit| {
        let spots = tool_of(part, visit).and_then(|tool| tool.spots);
        spots.is_none_or(|depth| -visit.lowest > depth + mm(SLACK))
    });
    let wide = |visit: &&&Visit| width(part, visit);
    let last = whole.clone().next_back().as_ref().map_or(0.0, wide);
    let widest = whole.map(|visit| wide(&visit)).fold(last, f64::max);
    let found = if (last - wanted).abs() > SAME_DIAMETER { last } else { widest };
    let wrong = (found - wanted).abs() > SAME_DIAMETER;
    wrong.then_some(Lapse::WrongDiameter { setup: part.plan.setup.number, name, found, wanted })
}

fn tool_of<'m>(part: &Part<'m>, visit: &Visit) -> Option<&'m Tool> {
    part.machine.tools.iter().find(|tool| Some(tool.number) == visit.tool)
}

/// How wide a hole a visit leaves, mm.
fn width(part: &Part, visit: &Visit) -> f64 {
    let tool = tool_of(part, visit).map_or(0.0, |tool| tool.diameter);
    tool + 2.0 * mm(visit.circle.unwrap_or(0))
}

/// The first place of a cut that takes wood of the panel: nearer to it than the tool is wide, or within it. Letters
/// no deeper than they are asked for are meant to, along their own lines.
fn gouge(sheet: &HoleSheet, part: &Part, cut: &[Move]) -> Option<Lapse> {
    let tools = &part.machine.tools;
    let setup = part.plan.setup.number;
    let speech = &part.machine.speech;
    // Chords may be so far within their arcs.
    let graze = GRAZE + if speech.arcs { 0.0 } else { speech.chord_error };
    let lowest = cut.iter().map(|step| step.to[2]).fold(0.0, f64::min);
    let shallow = -lowest <= sheet.engraved_depth + mm(SLACK);
    let on_letter = |at: [f64; 2]| {
        let mut lines = sheet.engraved.iter().flat_map(|stroke| stroke.windows(2));
        shallow
            && lines
                .any(|line| beside([[line[0].x, line[0].y], [line[1].x, line[1].y]], at) <= GRAZE)
    };
    cut.iter().find_map(|step| {
        let tool = tools.iter().find(|tool| Some(tool.number) == step.tool)?;
        let wide = tool.diameter / 2.0 - graze;
        let on_sheet = |p: [f64; 2]| part.plan.setup.lay.back(p.map(um)).map(mm);
        let mut places = cuts::places(step, LOOK).into_iter().map(on_sheet);
        let at = places.find(|at| sheet.inside(*at) > -wide && !on_letter(*at))?;
        Some(Lapse::Gouged { setup, line: step.line, at })
    })
}

/// How far a place is from a straight line between two others, mm.
fn beside([a, b]: [[f64; 2]; 2], at: [f64; 2]) -> f64 {
    let [way, from_a] = [b, at].map(|p| [p[0] - a[0], p[1] - a[1]]);
    let square = way[0] * way[0] + way[1] * way[1];
    let share = (from_a[0] * way[0] + from_a[1] * way[1]) / square;
    let share = if square == 0.0 { 0.0 } else { share.clamp(0.0, 1.0) };
    distance([0, 1].map(|axis| a[axis] + share * way[axis]), at)
}

/// The middles of the marks, each once: a mark is two lines that cross in the middle. A groove is none.
fn marks(trace: &[Move], grooves: &[[[Um; 2]; 2]]) -> Vec<[Um; 2]> {
    let near = |a: [f64; 2], b: [Um; 2]| (0..2).all(|axis| (um(a[axis]) - b[axis]).abs() <= SLACK);
    let is_groove = |from: [f64; 2], to: [f64; 2]| {
        let ends =
            |&[a, b]: &[[Um; 2]; 2]| near(from, a) && near(to, b) || near(from, b) && near(to, a);
        grooves.iter().any(ends)
    };
    let drawn = trace.iter().any(|step| step.pen == Some(PenState::Down));
    let mut middles: Vec<[Um; 2]> = Vec::new();
    if !drawn {
        return middles;
    }
    for Run { points, .. } in runs(trace) {
        let (Some(a), Some(b)) = (points.first(), points.last()) else { continue };
        if is_groove(*a, *b) {
            continue;
        }
        let middle = [0, 1].map(|axis| um((a[axis] + b[axis]) / 2.0));
        let same = |old: &[Um; 2]| (0..2).all(|axis| (old[axis] - middle[axis]).abs() <= SLACK);
        if !middles.iter().any(same) {
            middles.push(middle);
        }
    }
    middles
}

/// Does the board lie on the dowels, and do they stand where the first program drilled for them?
fn stand(
    part: &Part,
    places: &[(Name, [Um; 2])],
    made: &[Option<u32>],
    before: &[Visit],
    now: &[Visit],
    ways: &Cuts,
    lapses: &mut Vec<Lapse>,
) {
    let setup = &part.plan.setup;
    let Some(dowels) = setup.dowels.filter(|_| setup.number > 1) else { return };
    let number = setup.number;
    for dowel in dowels {
        let name = dowel.hole;
        // All set-ups share one X0 Y0 and one Z0, so their programs' places are places on the bed.
        let bottom = -mm(part.plan.size[2] + dowel.depth - SLACK);
        let drilled = |visit: &&Visit| {
            distance(visit.at, dowel.at.map(mm)) <= mm(SLACK) && visit.lowest <= bottom
        };
        if before.iter().find(drilled).is_none() {
            lapses.push(Lapse::NoDowelHole { setup: number, name });
        }
        let hole = places.iter().position(|(place, _)| *place == name);
        match hole {
            Some(i) => {
                let at = setup.lay.place(places[i].1);
                if (0..2).any(|axis| (at[axis] - dowel.at[axis]).abs() > ROUNDED) {
                    lapses.push(Lapse::DowelAstray { setup: number, name });
                }
                if made[i].is_none() {
                    lapses.push(Lapse::NotDrilledYet { setup: number, name });
                }
            }
            None => lapses.push(Lapse::DowelAstray { setup: number, name }),
        }
        for visit in now {
            let apart = (width(part, visit) + mm(dowel.diameter)) / 2.0;
            if distance(visit.at, dowel.at.map(mm)) < apart {
                lapses.push(Lapse::DowelStruck { setup: number, line: visit.line, name });
            }
        }
        let near = ways.nearest(dowel.at.map(mm));
        if let Some((_, line)) = near.filter(|(away, _)| *away < mm(dowel.diameter) / 2.0) {
            lapses.push(Lapse::DowelStruck { setup: number, line, name });
        }
    }
}
