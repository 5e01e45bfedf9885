//! A sheet on a bed: one set-up where it fits, several where it does not.

use super::{
    Bench, CLEARANCE, Dowel, Setup, Thing, Turn, Um,
    bits::{Aim, Method, Pass},
    cutting::Cutting,
    mm,
    reach::{Place, Reach},
    setups::{self, Division, Fewest, Laid, Located, NoWay},
    um,
};
use crate::{
    diag::Diagnostic,
    frame::{Point, Sheet},
    layout::{HoleSheet, Name, listed},
    machine::{Bed, Tool, Work},
};

/// Dowels stand so deep in the spoilboard where it and the tool allow, mm; common practice, no source.
const DOWEL_DEPTH: f64 = 12.0;
/// Less holds nothing, mm.
const LEAST_DEPTH: f64 = 6.0;
/// What is left of the spoilboard under a dowel, mm.
const LEFT_UNDER: f64 = 3.0;
/// A thinner dowel bends, mm; common practice, no source.
const THINNEST: f64 = 5.0;
/// Dowels nearer together than this hold no board straight, mm.
const DOWELS_APART: f64 = 100.0;

/// From a board's edge to a hole for a dowel that is proposed, mm.
const EDGE_OF_DOWELS: f64 = 30.0;

/// So many places of one way are said; of more the first.
const SAID: usize = 3;

/// A clamp that is in nobody's way, mm.
const LOW: f64 = 1e5;

/// A set-up and what is made in it.
pub(super) struct SetupOf {
    pub setup: Setup,
    /// By their place in the sheet's list.
    pub holes: Vec<usize>,
    /// For each place of what else is cut, whether it is made here, and whether it could be.
    pub made: Vec<bool>,
    pub reached: Vec<bool>,
}

/// How the places of a sheet are counted while it is divided: the buttons' holes, what else is cut, and last the
/// holes that it may have for dowels.
struct Counted {
    buttons: usize,
    things: Vec<Thing>,
    /// Where these are.
    cut: Vec<Place>,
}

impl Counted {
    /// The place of a hole in the sheet's own list, that of the buttons and of those for dowels.
    const fn hole(&self, i: usize) -> Option<usize> {
        match i.checked_sub(self.buttons) {
            None => Some(i),
            Some(beyond) if beyond < self.things.len() => None,
            Some(_) => Some(i - self.things.len()),
        }
    }
}

impl Bench<'_> {
    /// The set-ups of a board on dowels, or of foam laid by hand. Dowels stand in the holes for the twine; where
    /// those do not suit, in holes of their own, if the job allows any: `own` is how those are made.
    pub(super) fn setups(
        &self,
        sheet: &HoleSheet,
        method: &Method,
        own: Option<&Method>,
        cutting: &Cutting,
    ) -> Result<Vec<SetupOf>, Vec<Diagnostic>> {
        let (things, cut) = (cutting.things(), self.cutting_places(sheet, cutting));
        let counted = Counted { buttons: sheet.places.len(), things, cut };
        let refused = |no: NoWay| self.no_way(sheet, &counted, no);
        if sheet.work == Work::Foam {
            let reach = self.reach_of(sheet, method, &counted, 0, 0.0);
            let division = setups::divide(&reach, Located::ByHand).map_err(refused)?;
            return Ok(self.laid(sheet, &counted, division, 0));
        }
        let divide = |reach: Reach, dowel: f64| self.divide(reach, dowel, cutting);
        // In one set-up no hole goes on into the spoilboard.
        let depth = self.dowel_depth(sheet, method);
        let alone = divide(self.reach_of(sheet, method, &counted, 0, 0.0), sheet.hole);
        let in_twine_holes = match alone {
            Ok(division) if division.setups.len() == 1 => {
                return Ok(self.laid(sheet, &counted, division, um(depth)));
            }
            Ok(least) => divide(self.reach_of(sheet, method, &counted, 0, depth), sheet.hole)
                .map(|division| division.over(least)),
            Err(no) => Err(no),
        };
        let in_twine_holes = match in_twine_holes {
            Ok(division) => self
                .dowels_can_be(sheet, method, sheet.hole, depth)
                .map(|()| self.laid(sheet, &counted, division, um(depth))),
            Err(no) => Err(refused(no)),
        };
        let (Err(_), Some(own), Some(locating)) = (&in_twine_holes, own, &sheet.locating) else {
            return in_twine_holes;
        };
        let depth = self.dowel_depth(sheet, own);
        let reach = self.reach_of(sheet, own, &counted, locating.places.len(), depth);
        let division = divide(reach, locating.hole).map_err(refused)?;
        self.dowels_can_be(sheet, own, locating.hole, depth)?;
        Ok(self.laid(sheet, &counted, division, um(depth)))
    }

    /// The board on dowels so thick, mm.
    fn divide(&self, reach: Reach, dowel: f64, cutting: &Cutting) -> Result<Division, NoWay> {
        let located = Located::OnDowels {
            apart: um(DOWELS_APART),
            thick: um(dowel),
            each: self.machine.bed.dowel_play,
        };
        // A board under its foam cannot be turned over; words and holes that are not right through are made from one
        // face, and a way that is cut from both would have a step in its edge.
        match self.job.foam.bonded || !cutting.is_empty() {
            true => setups::divide(&reach, located),
            false => setups::divide_either_way(reach, located),
        }
    }

    /// How deep dowels can stand, mm.
    fn dowel_depth(&self, sheet: &HoleSheet, method: &Method) -> f64 {
        DOWEL_DEPTH
            .min(self.machine.bed.spoilboard - LEFT_UNDER)
            .min(shortest(method).reach - self.stack(sheet))
    }

    /// What all bits of a method reach, of the sheet's holes and the first so many that it may have for dowels. Any
    /// of them may be a dowel's, and go on so deep, mm, into the spoilboard.
    fn reach_of(
        &self,
        sheet: &HoleSheet,
        method: &Method,
        counted: &Counted,
        own: usize,
        dowel: f64,
    ) -> Reach {
        let round = |pass: &Pass| pass.circle.map_or(0.0, mm);
        let circle = method.passes.iter().map(round).fold(0.0, f64::max);
        // Where a tool is short, its holder comes down beside the clamps as well.
        let holder = self.machine.spindle.as_ref().map_or(0.0, |spindle| spindle.holder) / 2.0;
        let beside = |pass: &Pass, height: f64| {
            let stack = self.stack(sheet);
            let depth = match pass.aim {
                Aim::Whole => mm(pass.depth).max(stack + dowel),
                Aim::Spot => mm(pass.depth),
            };
            let holder_at = pass.tool.reach - depth + stack;
            let holder = if holder_at - height < CLEARANCE { holder + round(pass) } else { 0.0 };
            holder.max(pass.tool.diameter / 2.0)
        };
        let bar = |height: f64| {
            let widest = method.passes.iter().map(|pass| beside(pass, height));
            widest.fold(sheet.hole / 2.0, f64::max) + CLEARANCE - circle
        };
        self.reach(sheet, own, circle, bar, &counted.cut)
    }

    /// The set-ups of a sheet that is marked with a pen and laid by hand; `arm` is half a mark.
    pub(super) fn set_ups_by_hand(
        &self,
        sheet: &HoleSheet,
        arm: f64,
    ) -> Result<Vec<SetupOf>, Vec<Diagnostic>> {
        let pen = self.machine.unknown_width() / 2.0 + CLEARANCE;
        // Nothing is in the way of a pen that is lower than the work.
        let low = self.stack(sheet);
        let bar = |height| if height > low { pen } else { -LOW };
        let reach = self.reach(sheet, 0, arm, bar, &[]);
        let counted = Counted { buttons: sheet.places.len(), things: Vec::new(), cut: Vec::new() };
        let division = setups::divide(&reach, Located::ByHand)
            .map_err(|no| self.no_way(sheet, &counted, no))?;
        Ok(self.laid(sheet, &counted, division, 0))
    }

    /// What the tool reaches of the sheet's holes, where it goes round each on a circle of this radius, mm, and keeps
    /// its middle so far from a clamp so high; and of what else is cut.
    fn reach(
        &self,
        sheet: &HoleSheet,
        own: usize,
        circle: f64,
        bar: impl Fn(f64) -> f64,
        cut: &[Place],
    ) -> Reach {
        let bed = &self.machine.bed;
        let corner = bed.work_at;
        let [left, right, near, far] = bed.over;
        let end = [bed.x, bed.y];
        let clamps = self.machine.keep_clear.iter().map(|clamp| {
            [(clamp.x, corner[0]), (clamp.y, corner[1])]
                .map(|(ends, zero)| ends.map(|end| um(end - zero)))
        });
        let beside: Vec<Um> =
            self.machine.keep_clear.iter().map(|clamp| um(bar(clamp.height))).collect();
        let hole = |(_, at, diameter): (Name, Point<Sheet>, f64)| {
            let tool = um(diameter - 2.0 * circle);
            Place::round([um(at.x), um(at.y)], um(circle), beside.clone(), tool)
        };
        let (buttons, wanted) = (sheet.places.len(), sheet.places.len() + cut.len());
        let mut places: Vec<Place> = sheet.holes().take(buttons).map(hole).collect();
        places.extend_from_slice(cut);
        places.extend(sheet.holes().skip(buttons).take(own).map(hole));
        Reach {
            low: corner.map(|zero| um(-zero)),
            high: [0, 1].map(|axis| um(end[axis] - corner[axis])),
            clamps: clamps.collect(),
            rest: [
                [um(-corner[0] - left), um(bed.x - corner[0] + right)],
                [um(-corner[1] - near), um(bed.y - corner[1] + far)],
            ],
            sheet: sheet.size.map(um),
            turns: &Turn::LEVEL,
            for_dowels: if own > 0 { wanted..places.len() } else { 0..buttons },
            wanted,
            places,
        }
    }

    fn laid(
        &self,
        sheet: &HoleSheet,
        counted: &Counted,
        division: Division,
        depth: Um,
    ) -> Vec<SetupOf> {
        let bed = &self.machine.bed;
        let zero = bed.work_at.map(um);
        let (low, high) = (zero.map(|zero| -zero), [um(bed.x) - zero[0], um(bed.y) - zero[1]]);
        let holes: Vec<(Name, Point<Sheet>, f64)> = sheet.holes().collect();
        let thing = |i: usize| match counted.hole(i) {
            Some(hole) => Thing::Hole(holes[hole].0),
            None => counted.things[i - counted.buttons],
        };
        let fewest = self.fewest(sheet, counted, &division);
        let of = division.setups.len() as u32;
        let setups = division.setups.into_iter().zip(1..).map(|(laid, number)| {
            let Laid { lay, made, reached, pair, worst } = laid;
            let dowel = |i: usize| {
                let (hole, at, diameter) = holes[counted.hole(i).expect("dowels stand in holes")];
                let at = lay.place([um(at.x), um(at.y)]);
                Dowel { hole, at, diameter: um(diameter), depth, through: um(sheet.thickness) }
            };
            let setup = Setup {
                number,
                of,
                lay,
                over: lay.over(low, high),
                zero,
                dowels: pair.map(|pair| pair.map(dowel)),
                worst: worst.map(|(i, off)| (thing(i), off)),
                fewest: fewest.clone(),
                moved: "",
            };
            let cut = counted.buttons..counted.buttons + counted.things.len();
            SetupOf {
                setup,
                holes: made.iter().filter_map(|&i| counted.hole(i)).collect(),
                made: cut.clone().map(|i| made.contains(&i)).collect(),
                reached: cut.map(|i| reached.has(i)).collect(),
            }
        });
        setups.collect()
    }

    /// Why there are not fewer set-ups.
    fn fewest(&self, sheet: &HoleSheet, counted: &Counted, division: &Division) -> String {
        let count = division.setups.len();
        match &division.fewest {
            Fewest::One => String::new(),
            Fewest::Apart(places) => format!(
                "Fewer than {count} set-ups cannot be: no two of {} ever come within reach together.",
                named(sheet, counted, places)
            ),
            Fewest::Crowded(most) => {
                // Dowels may have holes of their own, or there are none.
                let on_holes = division.setups.iter().filter_map(|laid| laid.pair).flatten();
                let standing = match on_holes.clone().any(|i| i < sheet.places.len()) {
                    true => ", and each after the first stands on two that are drilled already",
                    false => "",
                };
                let all = match counted.things.len() {
                    0 => format!("{} holes", counted.buttons),
                    more => format!("{} holes and stretches of cuts", counted.buttons + more),
                };
                format!(
                    "Fewer than {count} set-ups cannot be: no set-up reaches more than {most} of the {all}{standing}."
                )
            }
            Fewest::Found(least) => format!(
                "No way with fewer than {count} set-ups was found; {least} are needed at the least."
            ),
        }
    }

    fn no_way(&self, sheet: &HoleSheet, counted: &Counted, no: NoWay) -> Vec<Diagnostic> {
        let machine = self.machine;
        let work = self.work;
        match no {
            NoWay::TooLarge => self.too_large(sheet),
            NoWay::OutOfReach(places) => {
                let only_holes = places.iter().all(|&i| counted.hole(i).is_some());
                let names = named(sheet, counted, &places);
                let names = match names.strip_prefix("the hole") {
                    Some(rest) if only_holes => format!("{work} hole{rest}"),
                    _ => names,
                };
                let they = if places.len() == 1 { "it" } else { "them" };
                let what = match machine.keep_clear.is_empty() {
                    true => "the ends of its travel keep",
                    false => "the ends of its travel and the clamps keep",
                };
                let is_way = |thing: &Thing| matches!(thing, Thing::Way(_));
                let beyond: Vec<Thing> = places
                    .iter()
                    .filter(|&&i| counted.hole(i).is_none())
                    .map(|&i| counted.things[i - counted.buttons])
                    .collect();
                let mut margin = String::new();
                if beyond.iter().any(is_way) {
                    margin += ", or change `margin` in [board.cut_out]";
                }
                if beyond.contains(&Thing::Words) {
                    // Words are made in one go.
                    margin += "; or write fewer words, or a smaller `engraved_height`";
                }
                vec![
                    self.at_machine(format!(
                        "however the {work} lies, {what} the tool of `{}` from {names}",
                        machine.name
                    ))
                    .help(format!(
                        "to reach {they}, move a clamp and its [[keep_clear]] box, or say that the work may lie farther over the bed's sides: over = {{ left = .., right = .., near = .., far = .. }} in [bed]{margin}"
                    )),
                ]
            }
            NoWay::NoDowels => vec![
                self.at_machine(format!(
                    "the {work} needs several set-ups on `{}`, and no two of its holes, {DOWELS_APART} mm apart or more, can be on the dowels each time",
                    machine.name
                ))
                .help(format!(
                    "say where it may have holes for dowels, {}; or let the work lie farther over the bed's sides (`over` in [bed]), move the clamps, or name a larger machine",
                    such_as(sheet, &self.machine.bed)
                )),
            ],
        }
    }

    fn too_large(&self, sheet: &HoleSheet) -> Vec<Diagnostic> {
        let bed = &self.machine.bed;
        let [left, right, near, far] = bed.over;
        let room = [bed.x + left + right, bed.y + near + far];
        let mut wrong = Vec::new();
        for (axis, word) in [(0, "wide"), (1, "high")] {
            let over = sheet.size[axis] - room[axis];
            if over > 0.0 {
                wrong.push(
                    self.at_machine(format!(
                        "the {} lies {:.1} mm {word} and there are {:.1} mm on the bed of `{}` with what may lie over its sides: {over:.1} mm too much",
                        self.work, sheet.size[axis], room[axis], self.machine.name
                    ))
                    .help("where nothing of the machine is in the way, let the work lie over the bed's sides and make it in several set-ups: over = { left = .., right = .., near = .., far = .. } in [bed]; or name a larger machine"),
                );
            }
        }
        wrong
    }

    /// Refuses holes, bits and spoilboards that no dowel can stand in.
    fn dowels_can_be(
        &self,
        sheet: &HoleSheet,
        method: &Method,
        hole: f64,
        depth: f64,
    ) -> Result<(), Vec<Diagnostic>> {
        let several = format!(
            "the {} needs several set-ups on `{}`, on dowels in its own holes",
            self.work, self.machine.name
        );
        let mut wrong = Vec::new();
        if hole < THINNEST {
            wrong.push(
                Diagnostic::at(
                    self.job.board.hole.span.clone(),
                    format!("{several}, and dowels of {hole} mm bend"),
                )
                .help(format!(
                    "say where it may have wider ones, {}; or make `hole` {THINNEST} mm or more, or name a larger machine",
                    such_as(sheet, &self.machine.bed)
                )),
            );
        }
        if depth < LEAST_DEPTH {
            let why = if self.machine.bed.spoilboard - LEFT_UNDER < LEAST_DEPTH {
                format!("its spoilboard is only {} mm thick", self.machine.bed.spoilboard)
            } else {
                let tool = shortest(method);
                format!("tool {} reaches only {} mm", tool.number, tool.reach)
            };
            wrong.push(
                self.at_machine(format!("{several}, and {why}")).help(format!(
                    "dowels stand at least {LEAST_DEPTH} mm deep in the spoilboard: fit a thicker one, or a longer bit"
                )),
            );
        }
        if wrong.is_empty() { Ok(()) } else { Err(wrong) }
    }
}

/// Places for dowels that a board could have, in pairs that are alike, a pair every half bed: it can be pushed on
/// from one to the next.
fn such_as(sheet: &HoleSheet, bed: &Bed) -> String {
    let [w, h] = [0, 1].map(|axis| sheet.size[axis] - 2.0 * EDGE_OF_DOWELS);
    let up = (h.min(bed.y - 2.0 * EDGE_OF_DOWELS) / 2.0).floor();
    let gaps = (w / (bed.x / 2.0)).ceil();
    let columns = (0..=gaps as u32).map(|k| (w * (f64::from(k) / gaps - 0.5)).round());
    let pairs: Vec<String> = columns.map(|x| format!("[{x}, {up}], [{x}, -{up}]")).collect();
    format!("in pairs that are alike: [board.locating] hole = 8, at = [{}]", pairs.join(", "))
}

/// Holes by their names, and what else is cut by what it is and where: "the holes A1, B2 and the outline at X 27 Y 31 of
/// the sheet".
fn named(sheet: &HoleSheet, counted: &Counted, places: &[usize]) -> String {
    let holes: Vec<Name> = sheet.holes().map(|(name, ..)| name).collect();
    let names: Vec<Name> =
        places.iter().filter_map(|&i| counted.hole(i)).map(|hole| holes[hole]).collect();
    let mut parts = match names.as_slice() {
        [] => Vec::new(),
        [name] => vec![format!("the hole {name}")],
        names => vec![format!("the holes {}", listed(names))],
    };
    let cut = places.iter().filter(|&&i| counted.hole(i).is_none());
    let things: Vec<(Thing, [Um; 2])> = cut
        .map(|&i| i - counted.buttons)
        .map(|i| (counted.things[i], counted.cut[i].middle()))
        .collect();
    parts.extend(things.chunk_by(|(a, _), (b, _)| a == b).map(|alike| {
        let said = if alike.len() > SAID { 1 } else { SAID };
        let at = alike
            .iter()
            .take(said)
            .map(|(_, [x, y])| format!("at X {} Y {}", mm(*x).round() + 0.0, mm(*y).round() + 0.0));
        let at = at.collect::<Vec<_>>().join(" and ");
        match (alike[0].0, alike.len()) {
            (thing @ Thing::Way(_), n) if n > SAID => {
                format!("{n} places of {thing}, the first {at} of the sheet")
            }
            (thing @ Thing::Way(_), _) => format!("{thing} {at} of the sheet"),
            (thing, _) => thing.to_string(),
        }
    }));
    match parts.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, before)) => format!("{} and {last}", before.join(", ")),
        None => String::new(),
    }
}

/// Of the bits that go as deep as the hole is.
fn shortest<'t>(method: &'t Method) -> &'t Tool {
    let tools = method.whole().map(|pass| pass.tool);
    tools.min_by(|a, b| a.reach.total_cmp(&b.reach)).expect("a hole is made by at least one bit")
}
