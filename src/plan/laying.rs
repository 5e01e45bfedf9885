//! A sheet on a bed: one set-up where it fits, several where it does not.

use super::{
    Bench, CLEARANCE, Dowel, Setup, Turn, Um,
    bits::{Aim, Method, Pass},
    mm,
    reach::Reach,
    setups::{self, Division, Fewest, Located, NoWay},
    um,
};
use crate::{
    diag::Diagnostic,
    frame::{Point, Sheet},
    layout::{HoleSheet, Name},
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

/// A bar turned inside out bars nothing, mm.
const LOW: f64 = 1e5;

/// A set-up, and its holes by their place in the sheet's list.
type SetupOf = (Setup, Vec<usize>);

impl Bench<'_> {
    /// The set-ups of a board on dowels, or of foam laid by hand. Dowels stand in the holes for the twine; where
    /// those do not suit, in holes of their own, if the job allows any: `own` is how those are made.
    pub(super) fn setups(
        &self,
        sheet: &HoleSheet,
        method: &Method,
        own: Option<&Method>,
    ) -> Result<Vec<SetupOf>, Vec<Diagnostic>> {
        if sheet.work == Work::Foam {
            let reach = self.reach_of(sheet, method, 0, 0.0);
            let division =
                setups::divide(&reach, Located::ByHand).map_err(|no| self.no_way(sheet, no))?;
            return Ok(self.laid(sheet, division, 0));
        }
        // In one set-up no hole goes on into the spoilboard.
        let depth = self.dowel_depth(sheet, method);
        let alone = self.divide(self.reach_of(sheet, method, 0, 0.0), sheet.hole, sheet.hole);
        let in_twine_holes = match alone {
            Ok(division) if division.setups.len() == 1 => {
                return Ok(self.laid(sheet, division, um(depth)));
            }
            Ok(least) => self
                .divide(self.reach_of(sheet, method, 0, depth), sheet.hole, sheet.hole)
                .map(|division| division.over(least)),
            Err(no) => Err(no),
        };
        let in_twine_holes = match in_twine_holes {
            Ok(division) => self
                .dowels_can_be(sheet, method, sheet.hole, depth)
                .map(|()| self.laid(sheet, division, um(depth))),
            Err(no) => Err(self.no_way(sheet, no)),
        };
        let (Err(_), Some(own), Some(locating)) = (&in_twine_holes, own, &sheet.locating) else {
            return in_twine_holes;
        };
        let depth = self.dowel_depth(sheet, own);
        let reach = self.reach_of(sheet, own, locating.places.len(), depth);
        let division = self.divide(reach, sheet.hole, locating.hole);
        let division = division.map_err(|no| self.no_way(sheet, no))?;
        self.dowels_can_be(sheet, own, locating.hole, depth)?;
        Ok(self.laid(sheet, division, um(depth)))
    }

    /// The board on dowels so thick in holes beside which others, so wide, are drilled.
    fn divide(&self, reach: Reach, hole: f64, dowel: f64) -> Result<Division, NoWay> {
        let located = Located::OnDowels {
            apart: um(DOWELS_APART),
            clear: um((hole + dowel) / 2.0 + 1.0),
            each: self.machine.bed.dowel_play,
        };
        // A board under its foam cannot be turned over.
        match self.job.foam.bonded {
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
    fn reach_of(&self, sheet: &HoleSheet, method: &Method, own: usize, dowel: f64) -> Reach {
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
            widest.fold(sheet.hole / 2.0, f64::max) + CLEARANCE
        };
        self.reach(sheet, own, circle, bar)
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
        let reach = self.reach(sheet, 0, arm, |height| if height > low { arm + pen } else { -LOW });
        let division =
            setups::divide(&reach, Located::ByHand).map_err(|no| self.no_way(sheet, no))?;
        Ok(self.laid(sheet, division, 0))
    }

    /// What the tool reaches: `margin` from the ends of its travel, `bar` beside a clamp so high.
    fn reach(&self, sheet: &HoleSheet, own: usize, margin: f64, bar: impl Fn(f64) -> f64) -> Reach {
        let bed = &self.machine.bed;
        let corner = bed.work_at;
        let [left, right, near, far] = bed.over;
        let end = [bed.x, bed.y];
        let barred = self.machine.keep_clear.iter().map(|clamp| {
            let beside = bar(clamp.height);
            [(clamp.x, corner[0]), (clamp.y, corner[1])]
                .map(|([from, to], zero)| [um(from - zero - beside), um(to - zero + beside)])
        });
        Reach {
            low: corner.map(|zero| um(margin - zero)),
            high: [0, 1].map(|axis| um(end[axis] - corner[axis] - margin)),
            barred: barred.collect(),
            rest: [
                [um(-corner[0] - left), um(bed.x - corner[0] + right)],
                [um(-corner[1] - near), um(bed.y - corner[1] + far)],
            ],
            sheet: sheet.size.map(um),
            turns: &Turn::LEVEL,
            holes: sheet
                .holes()
                .take(sheet.places.len() + own)
                .map(|(_, at, _)| [um(at.x), um(at.y)])
                .collect(),
            wanted: sheet.places.len(),
        }
    }

    fn laid(&self, sheet: &HoleSheet, division: Division, depth: Um) -> Vec<SetupOf> {
        let bed = &self.machine.bed;
        let zero = bed.work_at.map(um);
        let (low, high) = (zero.map(|zero| -zero), [um(bed.x) - zero[0], um(bed.y) - zero[1]]);
        let holes: Vec<(Name, Point<Sheet>, f64)> = sheet.holes().collect();
        let name = |i: usize| holes[i].0;
        let fewest = self.fewest(sheet, &division);
        let of = division.setups.len() as u32;
        let setups = division.setups.into_iter().zip(1..).map(|(laid, number)| {
            let dowel = |i: usize| {
                let (hole, at, diameter) = holes[i];
                let at = laid.lay.place([um(at.x), um(at.y)]);
                Dowel { hole, at, diameter: um(diameter), depth, through: um(sheet.thickness) }
            };
            let setup = Setup {
                number,
                of,
                lay: laid.lay,
                over: laid.lay.over(low, high),
                zero,
                dowels: laid.pair.map(|pair| pair.map(dowel)),
                worst: laid.worst.map(|(i, off)| (name(i), off)),
                fewest: fewest.clone(),
                moved: "",
            };
            (setup, laid.holes)
        });
        setups.collect()
    }

    /// Why there are not fewer set-ups.
    fn fewest(&self, sheet: &HoleSheet, division: &Division) -> String {
        let count = division.setups.len();
        match &division.fewest {
            Fewest::One => String::new(),
            Fewest::Apart(holes) => format!(
                "Fewer than {count} set-ups cannot be: no two of the holes {} ever come within reach together.",
                self.names(sheet, holes)
            ),
            Fewest::Crowded(most) => {
                // Dowels may have holes of their own, or there are none.
                let on_holes = division.setups.iter().filter_map(|laid| laid.pair).flatten();
                let standing = match on_holes.clone().any(|i| i < sheet.places.len()) {
                    true => ", and each after the first stands on two that are drilled already",
                    false => "",
                };
                format!(
                    "Fewer than {count} set-ups cannot be: no set-up reaches more than {most} of the {} holes{standing}.",
                    sheet.places.len()
                )
            }
            Fewest::Found(least) => format!(
                "No way with fewer than {count} set-ups was found; {least} are needed at the least."
            ),
        }
    }

    fn names(&self, sheet: &HoleSheet, holes: &[usize]) -> String {
        let names: Vec<String> = holes.iter().map(|&i| sheet.places[i].0.to_string()).collect();
        names.join(", ")
    }

    fn no_way(&self, sheet: &HoleSheet, no: NoWay) -> Vec<Diagnostic> {
        let machine = self.machine;
        let work = self.work;
        match no {
            NoWay::TooLarge => self.too_large(sheet),
            NoWay::OutOfReach(holes) => {
                let names = self.names(sheet, &holes);
                let (many, they) = if holes.len() == 1 { ("", "it") } else { ("s", "them") };
                let what = match machine.keep_clear.is_empty() {
                    true => "the ends of its travel keep",
                    false => "the ends of its travel and the clamps keep",
                };
                vec![
                    self.at_machine(format!(
                        "however the {work} lies, {what} the tool of `{}` from {work} hole{many} {names}",
                        machine.name
                    ))
                    .help(format!(
                        "to reach {they}, move a clamp and its [[keep_clear]] box, or say that the work may lie farther over the bed's sides: over = {{ left = .., right = .., near = .., far = .. }} in [bed]"
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

/// Of the bits that go as deep as the hole is.
fn shortest<'t>(method: &'t Method) -> &'t Tool {
    let tools = method.whole().map(|pass| pass.tool);
    tools.min_by(|a, b| a.reach.total_cmp(&b.reach)).expect("a hole is made by at least one bit")
}
