//! Holes: how deep, drilled or bored, bit after bit, and in which order.

use super::{
    Bench, Lay, OWN_TOP, On, Plan, Setup, Step, TOP_OF_FOAM, Travel, Um,
    bits::{self, Aim, Method},
    cutting::{OtherWay, is_of_the_outline},
    mm, um,
};
use crate::{
    diag::Diagnostic,
    form,
    job::{FaceUp, Rest},
    layout::{HoleSheet, Name, Part},
    machine::Work,
    route::{self, Cost, Effort, Ends, Order},
};

/// Holes nearer than this many least distances are neighbours.
const NEIGHBOUR: f64 = 1.1;
/// So many other holes come before a neighbour where foam is let rest: common practice, no source.
const OTHERS_BETWEEN: usize = 2;
/// Said before a set-up whose panel is partly cut out, or wholly.
const PART_CUT: &str =
    "Part of the outline is cut: lift the panel and its sheet together, flat, and clamp both again";
const ALL_CUT: &str = "The outline is cut, and only its tabs hold the panel: lift the panel and its sheet together, flat, and clamp both again";
/// From the edge of a hole to where a bit is touched off, mm: enough for its tip and a feeler.
const TOUCHED_BESIDE: f64 = 10.0;
/// How closely places for it are looked at, mm.
const TOUCH_STEP: f64 = 5.0;

/// A hole to be made in one set-up.
struct Wanted<'m> {
    name: Name,
    at: [Um; 2],
    method: &'m Method<'m>,
    /// How much deeper than the method has it: on into the spoilboard, for a dowel.
    whole: Option<Um>,
    /// How many passes are done.
    done: usize,
}

impl Bench<'_> {
    pub(super) fn drill(&self, sheet: &HoleSheet) -> Result<Vec<Plan>, Vec<Diagnostic>> {
        let travel_height = self.travel_height(self.stack(sheet));
        let method = self.method(sheet, sheet.hole);
        let own = sheet.locating.as_ref().map(|locating| self.method(sheet, locating.hole));
        let cutting = self.cutting(sheet);
        let ready = (travel_height, method, own.transpose(), cutting);
        let (travel_height, method, own, cutting) = match ready {
            (Ok(height), Ok(method), Ok(own), Ok(cutting)) => (height, method, own, cutting),
            (height, method, own, cutting) => {
                let wrong = [height.err(), method.err(), own.err(), cutting.err()];
                return Err(wrong.into_iter().flatten().flatten().collect());
            }
        };
        let setups = self.setups(sheet, &method, own.as_ref(), &cutting)?;
        if !cutting.is_empty() {
            self.held_between(setups.len())?;
        }
        let methods = [&method, own.as_ref().unwrap_or(&method)];
        let steps = cutting.steps(&setups);
        let of_the_outline = |steps: &Vec<Step>| steps.iter().any(is_of_the_outline);
        let mut to_cut = steps.iter().filter(|steps| of_the_outline(steps)).count();
        let mut plans = Vec::new();
        let mut moved = "";
        for (mut of, more) in setups.into_iter().zip(steps) {
            let others = cutting.holes.iter().zip(&of.made);
            let share = Share {
                holes: &of.holes,
                others: others.filter(|(_, made)| **made).map(|(other, _)| other).collect(),
                then: first_cut(&more, &of.setup.lay),
            };
            of.setup.moved = moved;
            if of_the_outline(&more) {
                to_cut -= 1;
                moved = if to_cut == 0 { ALL_CUT } else { PART_CUT };
            }
            let mut plan = self.drill_one(sheet, methods, travel_height, of.setup, share);
            self.go_on(&mut plan, more);
            plans.push(plan);
        }
        Ok(plans)
    }

    /// The holes of one set-up. Those for buttons and those for dowels alone have a method each.
    fn drill_one(
        &self,
        sheet: &HoleSheet,
        methods: [&Method; 2],
        travel_height: Um,
        setup: Setup,
        Share { holes, others, then }: Share,
    ) -> Plan {
        // The first set-up's holes for the dowels go on into the spoilboard.
        let dowels = setup.dowels.filter(|_| setup.number == 1).into_iter().flatten();
        let deeper = |name: Name| {
            let mut here = dowels.clone().filter(|dowel| dowel.hole == name);
            here.next().map(|dowel| um(self.stack(sheet)) + dowel.depth)
        };
        let all: Vec<_> = sheet.holes().collect();
        let wanted = holes.iter().map(|&i| {
            let (name, at, _) = all[i];
            let at = setup.lay.place([um(at.x), um(at.y)]);
            let method = methods[usize::from(i >= sheet.places.len())];
            Wanted { name, at, method, whole: deeper(name), done: 0 }
        });
        let others = others.iter().map(|other| Wanted {
            name: other.name,
            at: setup.lay.place(other.at),
            method: &other.method,
            whole: None,
            done: 0,
        });
        let mut wanted: Vec<Wanted> = wanted.chain(others).collect();
        let touch_at = self.touch_at(sheet, &setup.lay);
        let (steps, travel) = self.bit_by_bit(&mut wanted, then);
        let on = On {
            part: Part::WHOLE,
            top: match self.glued(sheet) {
                true => TOP_OF_FOAM,
                false => OWN_TOP,
            },
            lies: match (sheet.up, setup.lay.turn.is_over()) {
                (FaceUp::Front, false) if self.job.foam.bonded => {
                    "front face up, the foam glued on"
                }
                (FaceUp::Front, false) | (FaceUp::Back, true) => "front face up",
                (FaceUp::Back, false) | (FaceUp::Front, true) => {
                    "back face up, so left and right are exchanged"
                }
            },
            setup,
            thickness: self.stack(sheet),
            travel_height,
        };
        Plan { touch_at, ..self.record(on, steps, travel) }
    }

    /// Fits bit after bit, as seldom as can be; each does all the holes that are ready for it.
    fn bit_by_bit(&self, wanted: &mut [Wanted], then: Option<Then>) -> (Vec<Step>, Travel) {
        let mut chains: Vec<Vec<u32>> = wanted.iter().map(|hole| hole.method.chain()).collect();
        chains.sort_unstable();
        chains.dedup();
        let (park, change_at) = (self.park(), self.change_at().map(mm));
        let mut steps = Vec::new();
        let mut travel = Travel { mm: 0.0, seconds: 0.0, seconds_bound: 0.0, mm_bound: 0.0 };
        let mut last = change_at;
        let fits = bits::fits(&chains);
        for (turn, &number) in fits.iter().enumerate() {
            // Where the bit goes on with a cut, it need not come back to the change.
            let on = then.filter(|then| turn + 1 == fits.len() && then.tool == number);
            let next = |hole: &Wanted| hole.method.passes.get(hole.done).map(|p| p.tool.number);
            let ready: Vec<usize> =
                (0..wanted.len()).filter(|&i| next(&wanted[i]) == Some(number)).collect();
            let places: Vec<[f64; 2]> = ready.iter().map(|&i| wanted[i].at.map(mm)).collect();
            // A round from one change to the next.
            let order = self.order_of(&places, change_at);
            let shortest = route_of(&places, change_at, Cost::Distance, Effort::Quick);
            let (order, shortest) = match on {
                Some(Then { at, .. }) => (
                    towards(order, &places, change_at, at, self.cost(), self.effort),
                    towards(shortest, &places, change_at, at, Cost::Distance, Effort::Quick),
                ),
                None => (order, shortest),
            };
            travel.mm += order.travel;
            travel.seconds += order.cost;
            travel.mm_bound += shortest.bound;
            travel.seconds_bound += order.bound;
            let pass = &wanted[ready[0]].method.passes[wanted[ready[0]].done];
            steps.push(bits::fit(pass.tool, pass.rpm));
            for &i in &order.sequence {
                let hole = &mut wanted[ready[i]];
                steps.push(hole.step());
                hole.done += 1;
                last = hole.at.map(mm);
            }
        }
        // The last round ends at the park place, where the first way to the change began. The bounds stand:
        // no way from the park place to the change and from the last hole back is less than the one left out.
        let detour = |cost: Cost| {
            cost.between(last, park) - cost.between(last, change_at) + cost.between(park, change_at)
        };
        travel.mm += detour(Cost::Distance);
        travel.seconds += detour(self.cost());
        (steps, travel)
    }

    fn order_of(&self, places: &[[f64; 2]], from: [f64; 2]) -> Order {
        match (self.work, self.job.foam.rest) {
            (Work::Foam, Rest::BetweenNeighbours) => self.rested(places, from),
            _ => route_of(places, from, self.cost(), self.effort),
        }
    }

    /// Whether the board lies under foam that is glued to it.
    fn glued(&self, sheet: &HoleSheet) -> bool {
        self.job.foam.bonded && sheet.work == Work::Board
    }

    /// What lies under the tool: the sheet, and what it is glued to. Z0 is its top.
    pub(super) fn stack(&self, sheet: &HoleSheet) -> f64 {
        match self.job.foam.bonded {
            true => self.job.foam.thickness + self.job.board.thickness,
            false => sheet.thickness,
        }
    }

    /// An order in which the foam recovers before a neighbour is drilled.
    fn rested(&self, places: &[[f64; 2]], from: [f64; 2]) -> Order {
        let pitch = places
            .iter()
            .skip(1)
            .map(|&place| Cost::Distance.between(places[0], place))
            .fold(f64::INFINITY, f64::min);
        let rest =
            route::Rest { within: pitch.min(form::LONGEST) * NEIGHBOUR, others: OTHERS_BETWEEN };
        let (cost, effort) = (self.cost(), self.effort);
        route::order_with_rest(places, rest, Ends::Park(from), cost, effort, &mut |_| {})
            .expect("a layout has at least one button, at a finite place")
    }

    /// Where every bit is touched off on top of the work: in whole material, whatever was cut before, as near
    /// as can be to where bits are changed, over the bed and under no clamp.
    fn touch_at(&self, sheet: &HoleSheet, lay: &Lay) -> [Um; 2] {
        let change_at = self.change_at().map(mm);
        let (bed, corner) = (&self.machine.bed, self.machine.bed.work_at);
        let holes: Vec<([f64; 2], f64)> =
            sheet.all_holes().map(|(_, at, diameter)| ([at.x, at.y], diameter / 2.0)).collect();
        // How far a place of the sheet is from all that is or will be cut away.
        let whole = |at: [f64; 2]| {
            let nearest =
                holes.iter().map(|&(hole, radius)| Cost::Distance.between(hole, at) - radius);
            nearest.fold(sheet.inside(at), f64::min)
        };
        let reached = |at: [f64; 2]| {
            let place = [at[0] + corner[0], at[1] + corner[1]];
            let free = |side: [[f64; 2]; 2]| {
                (0..2).any(|axis| {
                    place[axis] + TOUCHED_BESIDE <= side[axis][0]
                        || place[axis] - TOUCHED_BESIDE >= side[axis][1]
                })
            };
            let on_bed =
                place[0] >= 0.0 && place[0] <= bed.x && place[1] >= 0.0 && place[1] <= bed.y;
            on_bed && self.machine.keep_clear.iter().all(|clamp| free([clamp.x, clamp.y]))
        };
        let steps = sheet.size.map(|side| (side / TOUCH_STEP) as u32);
        let sheet_places = (0..=steps[0]).flat_map(|i| (0..=steps[1]).map(move |k| [i, k]));
        let places = sheet_places.filter_map(|place| {
            let on_sheet = place.map(|n| f64::from(n) * TOUCH_STEP);
            let at = lay.place(on_sheet.map(um)).map(mm);
            reached(at).then(|| (at, whole(on_sheet).min(TOUCHED_BESIDE)))
        });
        // Where there is no such room, as much of it as there is.
        let best = places.min_by(|(a, room), (b, other)| {
            let away = |at: [f64; 2]| Cost::Distance.between(at, change_at);
            other.total_cmp(room).then(away(*a).total_cmp(&away(*b)))
        });
        best.map_or(lay.place([0, 0]), |(at, _)| at.map(um))
    }
}

impl Wanted<'_> {
    /// What the next pass does.
    fn step(&self) -> Step {
        let (pass, name, at) = (&self.method.passes[self.done], self.name, self.at);
        let peck = um(pass.tool.peck);
        let depth = self.whole.filter(|_| pass.aim == Aim::Whole).unwrap_or(pass.depth);
        match pass.circle {
            None => Step::Drill { name, at, depth, peck },
            // A turn no deeper than a peck nor half the tool, so that the chips get out.
            Some(circle) => Step::Bore {
                name,
                at,
                depth,
                circle,
                per_turn: peck.min(um(pass.tool.diameter / 2.0)),
            },
        }
    }
}

/// What is drilled in one set-up.
struct Share<'a> {
    /// By their place in the sheet's list.
    holes: &'a [usize],
    others: Vec<&'a OtherWay<'a>>,
    then: Option<Then>,
}

/// What a program goes on with after its holes.
#[derive(Clone, Copy)]
struct Then {
    tool: u32,
    at: [f64; 2],
}

fn first_cut(steps: &[Step], lay: &Lay) -> Option<Then> {
    match steps {
        [Step::Fit { tool, .. }, Step::Cut { from, .. }, ..] => {
            Some(Then { tool: *tool, at: lay.place(*from).map(mm) })
        }
        _ => None,
    }
}

/// Of a round, of the same backwards, and of one that has the goal among its places, the one whose last place is best
/// to go on from towards the goal; with the least that any way from the change through all places to the goal takes.
/// Costs are still those of the round.
fn towards(
    order: Order,
    places: &[[f64; 2]],
    from: [f64; 2],
    goal: [f64; 2],
    cost: Cost,
    effort: Effort,
) -> Order {
    let with_goal: Vec<[f64; 2]> = places.iter().copied().chain([goal]).collect();
    let through = route_of(&with_goal, from, cost, effort);
    let of = |sequence: &[usize], cost: Cost, end: [f64; 2]| {
        let way: Vec<[f64; 2]> =
            std::iter::once(from).chain(sequence.iter().map(|&i| places[i])).chain([end]).collect();
        way.windows(2).map(|pair| cost.between(pair[0], pair[1])).sum::<f64>()
    };
    let without = |sequence: &[usize]| -> Vec<usize> {
        sequence.iter().copied().filter(|&i| i < places.len()).collect()
    };
    let both = |sequence: Vec<usize>| [sequence.iter().rev().copied().collect(), sequence];
    let sequences = both(order.sequence).into_iter().chain(both(without(&through.sequence)));
    let sequence = sequences
        .min_by(|a, b| of(a, cost, goal).total_cmp(&of(b, cost, goal)))
        .expect("there are four");
    Order {
        travel: of(&sequence, Cost::Distance, from),
        cost: of(&sequence, cost, from),
        // No way from the last place to the goal and back to the change is shorter than the goal's own.
        bound: through.bound - cost.between(goal, from),
        sequence,
    }
}

fn route_of(places: &[[f64; 2]], from: [f64; 2], cost: Cost, effort: Effort) -> Order {
    route::order(places, Ends::Park(from), cost, effort, &mut |_| {})
        .expect("a set-up has at least one hole, at a finite place")
}
