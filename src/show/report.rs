//! `report.json`: the facts for scripts.

use super::{
    Materials, Shown, materials,
    quote::{Line, Quote},
};
use crate::{
    frame::{Point, Sheet},
    job::AreaKind,
    layout::{Laid, Name, RollPlan, Strain},
    machine::Work,
    outline::Corner,
    plan::{Plan, Step, Thing, mm, um},
};
use serde::Serialize;
use std::collections::BTreeMap;

#[derive(Serialize)]
struct Report<'a> {
    job: &'a str,
    quantity: u32,
    panel: PanelFacts,
    layout: LayoutFacts,
    fabric: FabricFacts,
    programs: Vec<ProgramFacts>,
    materials: Materials,
    #[serde(skip_serializing_if = "Option::is_none")]
    quote: Option<QuoteFacts<'a>>,
    warnings: &'a [String],
}

#[derive(Serialize)]
struct QuoteFacts<'a> {
    currency: &'a str,
    lines: Vec<QuoteLine>,
    not_priced: Vec<&'static str>,
    sum: f64,
    /// The sum, rounded once more where the price list says so.
    total: f64,
}

#[derive(Serialize)]
struct QuoteLine {
    what: &'static str,
    amount: f64,
    unit: &'static str,
    price: f64,
    sum: f64,
}

#[derive(Serialize)]
struct PanelFacts {
    size_mm: [f64; 2],
    area_mm2: f64,
    perimeter_mm: f64,
    /// Corners anticlockwise, front frame: x, y, and the bulge of the arc to the next, 0 where it is straight.
    outline_mm: Vec<[f64; 3]>,
    openings_mm: Vec<Vec<[f64; 3]>>,
}

#[derive(Serialize)]
struct LayoutFacts {
    diamond_mm: [f64; 2],
    rows: Vec<u32>,
    buttons: Vec<ButtonFacts>,
    dropped: Vec<String>,
    moved: Vec<MovedFacts>,
    #[serde(skip_serializing_if = "Option::is_none")]
    survey: Option<SurveyFacts>,
    nearest_edge_mm: f64,
}

#[derive(Serialize)]
struct SurveyFacts {
    turned_degrees: f64,
    rms_mm: f64,
    /// Right and up of its place in the best grid.
    drift_mm: BTreeMap<String, [f64; 2]>,
}

#[derive(Serialize)]
struct ButtonFacts {
    name: String,
    front_mm: [f64; 2],
}

#[derive(Serialize)]
struct MovedFacts {
    name: String,
    by_mm: f64,
}

#[derive(Serialize)]
struct FabricFacts {
    marked_mm: [f64; 2],
    allowance_mm: [f64; 2],
    least_mm: [f64; 2],
    most_mm: [f64; 2],
    cut_mm: [f64; 2],
    /// How deep the marks can be pulled down: across, down, along a pleat.
    reach_mm: [f64; 3],
    /// What each way of finding the allowance gives.
    measured_gives_mm: Option<[f64; 2]>,
    depth_gives_mm: f64,
    hole_gives_mm: f64,
    strained: Vec<StrainFacts>,
    pieces: usize,
    pieces_cut_mm: Vec<[f64; 2]>,
    marks: Vec<MarkFacts>,
    roll: RollFacts,
    /// Of a pair, the covers of both hands off one roll.
    #[serde(skip_serializing_if = "Option::is_none")]
    both_hands: Option<BothHandsFacts>,
}

#[derive(Serialize)]
struct BothHandsFacts {
    /// How much less is to be bought than for each hand by itself.
    saves_mm: f64,
    roll: RollFacts,
    /// Which hand each of the pieces is, in the order in which `roll` counts them.
    hands: Vec<&'static str>,
}

#[derive(Serialize)]
struct StrainFacts {
    from: String,
    to: String,
    wanted_mm: f64,
    found_mm: f64,
    per_cent: f64,
}

#[derive(Serialize)]
struct RollFacts {
    width_mm: f64,
    length_mm: f64,
    least_mm: f64,
    without_repeat_mm: Option<f64>,
    first_cut_mm: Option<f64>,
    sideways_mm: Option<f64>,
    drop_mm: f64,
    drops: Vec<Vec<LaidFacts>>,
}

#[derive(Serialize)]
struct LaidFacts {
    panel: u32,
    piece: usize,
    x_mm: f64,
}

#[derive(Serialize)]
struct MarkFacts {
    name: String,
    piece: u32,
    back_mm: [f64; 2],
}

#[derive(Serialize)]
struct ProgramFacts {
    file: String,
    machine: String,
    seconds: f64,
    travel_mm: f64,
    travel_bound_mm: f64,
    travel_seconds: f64,
    travel_bound_seconds: f64,
    setup: SetupFacts,
    /// Numbers of the tools, in turn.
    tools: Vec<u32>,
    /// Holes of board and foam that it makes or marks.
    makes: Vec<PlaceFacts>,
    faults: Vec<String>,
    warnings: Vec<String>,
}

#[derive(Serialize)]
struct SetupFacts {
    number: u32,
    of: u32,
    /// How the sheet is turned, in words; empty where it is not.
    turned: &'static str,
    /// Where the lower left corner of the sheet as it lies is, in the program.
    corner_mm: [f64; 2],
    dowels: Vec<PlaceFacts>,
    /// What play of the dowels could put farthest off: a hole's name, or "the outline".
    #[serde(skip_serializing_if = "Option::is_none")]
    worst: Option<OffFacts>,
}

#[derive(Serialize)]
struct PlaceFacts {
    name: String,
    /// In the program.
    at_mm: [f64; 2],
}

#[derive(Serialize)]
struct OffFacts {
    name: String,
    off_mm: f64,
}

impl Shown<'_> {
    /// Lengths in millimetres, to the millionth: what binary arithmetic adds beyond is noise.
    pub fn report(&self) -> String {
        let quote = self.quote();
        let report = Report {
            job: &self.job.title,
            quantity: self.job.quantity,
            panel: self.panel_facts(),
            layout: self.layout_facts(),
            fabric: self.fabric_facts(),
            programs: self.program_facts(),
            materials: materials(self.job, self.layout),
            quote: quote.as_ref().map(quote_facts),
            warnings: &self.layout.warnings,
        };
        serde_json::to_string_pretty(&report).expect("a report holds nothing that JSON cannot")
            + "\n"
    }

    fn panel_facts(&self) -> PanelFacts {
        let outline = &self.layout.outline;
        let way = |corners: &[Corner]| {
            corners.iter().map(|c| [c.at[0], c.at[1], c.bulge].map(millionth)).collect()
        };
        let openings = self.layout.areas.iter().filter(|area| area.kind == AreaKind::Opening);
        PanelFacts {
            size_mm: [outline.width(), outline.height()].map(millionth),
            area_mm2: millionth(outline.area()),
            perimeter_mm: millionth(outline.perimeter()),
            outline_mm: way(outline.corners()),
            openings_mm: openings.map(|area| way(&area.corners)).collect(),
        }
    }

    fn layout_facts(&self) -> LayoutFacts {
        let layout = self.layout;
        let mut rows: BTreeMap<u32, u32> = BTreeMap::new();
        for button in &layout.buttons {
            *rows.entry(button.name.row()).or_default() += 1;
        }
        let buttons = layout.buttons.iter().map(|button| ButtonFacts {
            name: button.name.to_string(),
            front_mm: [button.at.x, button.at.y].map(millionth),
        });
        LayoutFacts {
            diamond_mm: [layout.fitted.width, layout.fitted.height].map(millionth),
            rows: rows.into_values().collect(),
            buttons: buttons.collect(),
            dropped: layout.dropped.iter().map(|button| button.name.to_string()).collect(),
            moved: layout
                .areas
                .iter()
                .flat_map(|area| &area.moved)
                .map(|(name, by)| MovedFacts { name: name.to_string(), by_mm: millionth(*by) })
                .collect(),
            survey: layout.surveyed.as_ref().map(|old| SurveyFacts {
                turned_degrees: millionth(old.turned),
                rms_mm: millionth(old.rms()),
                drift_mm: old
                    .drift
                    .iter()
                    .map(|(name, off)| (name.to_string(), off.map(millionth)))
                    .collect(),
            }),
            nearest_edge_mm: millionth(layout.nearest_edge),
        }
    }

    fn fabric_facts(&self) -> FabricFacts {
        let cover = &self.layout.cover;
        let marks = cover.pieces.iter().flat_map(|piece| {
            piece.marks.iter().map(|(name, at)| MarkFacts {
                name: name.to_string(),
                piece: piece.part.number,
                back_mm: [at.x, at.y].map(millionth),
            })
        });
        FabricFacts {
            marked_mm: cover.marked.map(millionth),
            allowance_mm: cover.allowance.map(millionth),
            least_mm: cover.bounds.map(|bounds| millionth(bounds.least)),
            most_mm: cover.bounds.map(|bounds| millionth(bounds.most)),
            cut_mm: cover.cut.map(millionth),
            reach_mm: cover.reach.map(millionth),
            measured_gives_mm: cover.methods.measured.map(|ways| ways.map(millionth)),
            depth_gives_mm: millionth(cover.methods.depth.1),
            hole_gives_mm: millionth(cover.methods.hole.1),
            strained: cover.strained.iter().map(strain_facts).collect(),
            pieces: cover.pieces.len(),
            pieces_cut_mm: cover.pieces.iter().map(|piece| piece.cut.map(millionth)).collect(),
            marks: marks.collect(),
            roll: roll_facts(&cover.roll, cover.sideways),
            both_hands: self.layout.pair.as_ref().map(|pair| BothHandsFacts {
                saves_mm: millionth(pair.saves),
                roll: roll_facts(&pair.roll, None),
                hands: pair.pieces.iter().map(|(hand, _)| hand.word()).collect(),
            }),
        }
    }

    fn program_facts(&self) -> Vec<ProgramFacts> {
        let facts = self.programs.iter().map(|program| {
            let rehearsal = program.verified.rehearsal();
            let travel = program.plan.travel;
            ProgramFacts {
                file: program.file.clone(),
                machine: program.machine.name.clone(),
                seconds: millionth(rehearsal.time.total()),
                travel_mm: millionth(travel.mm),
                travel_bound_mm: millionth(travel.mm_bound),
                travel_seconds: millionth(travel.seconds),
                travel_bound_seconds: millionth(travel.seconds_bound),
                setup: setup_facts(&program.plan),
                tools: program.plan.fitted(),
                makes: self.made_by(&program.plan),
                // A program with a fault is never kept, so this list is empty by construction.
                faults: rehearsal.faults.iter().map(|fault| fault.message.clone()).collect(),
                warnings: rehearsal
                    .warnings
                    .iter()
                    .map(|warning| warning.message.clone())
                    .collect(),
            }
        });
        facts.collect()
    }
}

fn quote_facts<'a>(quote: &'a Quote) -> QuoteFacts<'a> {
    let line = |line: &Line| QuoteLine {
        what: line.what,
        amount: millionth(line.amount),
        unit: line.unit,
        price: line.price,
        sum: millionth(quote.comes_to(line)),
    };
    QuoteFacts {
        currency: quote.currency(),
        lines: quote.lines.iter().map(line).collect(),
        not_priced: quote.not_priced.clone(),
        sum: millionth(quote.sum()),
        total: millionth(quote.total()),
    }
}

impl Shown<'_> {
    /// The holes of a sheet that a plan makes, or marks with two lines across their middle.
    fn made_by(&self, plan: &Plan) -> Vec<PlaceFacts> {
        let sheet = match plan.work {
            Work::Board => &self.layout.board,
            Work::Foam => &self.layout.foam,
            Work::Fabric => return Vec::new(),
        };
        let middle = |step: &Step| match step {
            Step::Stroke { points } => {
                let (a, b) = (points[0], points[points.len() - 1]);
                Some([0, 1].map(|axis| (a[axis] + b[axis]) / 2))
            }
            _ => None,
        };
        let mut made = plan.drilled();
        made.extend(plan.steps.iter().filter_map(middle));
        let here = |(name, at, _): (Name, Point<Sheet>, f64)| {
            let at = plan.setup.lay.place([um(at.x), um(at.y)]);
            let facts = PlaceFacts { name: name.to_string(), at_mm: at.map(mm) };
            made.contains(&at).then_some(facts)
        };
        sheet.all_holes().filter_map(here).collect()
    }
}

fn setup_facts(plan: &Plan) -> SetupFacts {
    let setup = &plan.setup;
    let dowels = setup.dowels.iter().flatten();
    SetupFacts {
        number: setup.number,
        of: setup.of,
        turned: setup.lay.turn.word(),
        corner_mm: setup.lay.corner.map(mm),
        dowels: dowels
            .map(|dowel| PlaceFacts { name: dowel.hole.to_string(), at_mm: dowel.at.map(mm) })
            .collect(),
        worst: setup
            .worst
            .map(|(thing, off)| OffFacts { name: off_name(thing), off_mm: millionth(off) }),
    }
}

/// A hole by its bare name, as elsewhere in the report.
fn off_name(thing: Thing) -> String {
    match thing {
        Thing::Hole(name) => name.to_string(),
        other => other.to_string(),
    }
}

fn strain_facts(strain: &Strain) -> StrainFacts {
    StrainFacts {
        from: strain.from.to_string(),
        to: strain.to.to_string(),
        wanted_mm: millionth(strain.wanted),
        found_mm: millionth(strain.found),
        per_cent: millionth(strain.per_cent()),
    }
}

fn roll_facts(roll: &RollPlan, sideways: Option<f64>) -> RollFacts {
    let laid = |laid: &Laid| LaidFacts {
        panel: laid.panel,
        piece: laid.piece + 1,
        x_mm: millionth(laid.x),
    };
    RollFacts {
        width_mm: roll.width,
        length_mm: millionth(roll.length),
        least_mm: millionth(roll.least),
        without_repeat_mm: roll.without_repeat.map(millionth),
        first_cut_mm: roll.first_cut.map(millionth),
        sideways_mm: sideways.map(millionth),
        drop_mm: millionth(roll.drop_length),
        drops: roll.drops.iter().map(|drop| drop.pieces.iter().map(laid).collect()).collect(),
    }
}

/// Rounded to a millionth; never "-0".
fn millionth(n: f64) -> f64 {
    (n * 1e6).round() / 1e6 + 0.0
}
