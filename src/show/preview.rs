//! `preview.html`: the finished panel, then every program on its machine, played back from the trace
//! of its bytes. One file that asks nothing of any network.

use super::{
    Shown,
    bed::{self, Elsewhere, Named, Names, OnBed, Peg, When},
    cover, drawing,
    html::{escape, fill, items},
    panel, tape,
};
use crate::{
    frame::{Point, Sheet},
    job::{PatternKind, Top},
    layout::{HoleSheet, Layout, Name, OtherHole, Part},
    machine::{KeepClear, Machine, Work},
    notice, outline,
    plan::{self, Lay, Plan, Step, um},
    program::Program,
    sim::{Move, Rehearsal, WorkSize},
    units::Unit,
    words::{capital, count, decimal, duration, from_to, length, other, size_both},
};
use kurbo::{BezPath, Rect, Shape as _};
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

const PAGE: &str = include_str!("preview/page.html");
const PANEL: &str = include_str!("preview/panel.html");
const REHEARSED: &str = include_str!("preview/rehearsed.html");
const PROGRAM: &str = include_str!("preview/program.html");
const STYLE: &str = include_str!("preview/page.css");
const ON_PAPER: &str = include_str!("paper.css");
const WATCH: &str = include_str!("preview/watch.js");
const SCRIPT: &str = include_str!("preview/page.js");

/// What the page's script reads.
#[derive(Serialize)]
struct PageData<'a> {
    /// Lengths are given in inches first.
    inches: bool,
    programs: Vec<tape::Tape<'a>>,
}

/// The page with its stamp: another page has another.
fn stamped(page: String) -> String {
    let stamp: String = Sha256::digest(&page).iter().map(|byte| format!("{byte:02x}")).collect();
    page.replacen("STAMP OF THIS PAGE", &stamp, 1)
}

impl Shown<'_> {
    /// The page, the same bytes for the same job.
    pub fn preview(&self) -> String {
        let programs: Vec<OnBed> =
            self.programs.iter().map(|p| on_bed(p, self.programs, self.layout)).collect();
        let parts: String = programs
            .iter()
            .zip(self.programs)
            .map(|(bed, program)| {
                let plan = &program.plan;
                part(bed, &what(plan), &capital(plan.lies), &laid(plan), self.job.unit)
            })
            .collect();
        let job = self.job;
        let pieces =
            if job.quantity == 1 { String::new() } else { format!(" · {} of them", job.quantity) };
        let panel = [self.layout.outline.width(), self.layout.outline.height()];
        let first = fill(
            PANEL,
            &[
                ("panel", &panel::picture(job, self.layout)),
                ("facts", &self.facts()),
                ("warnings", &warnings(&self.layout.warnings)),
                ("short", &items(notice::SHORT)),
            ],
        );
        let under = format!("{}{pieces}", size_both(panel, job.unit));
        page(&job.title, &under, ("panel", &first), &programs, &parts, job.unit)
    }

    fn facts(&self) -> String {
        let (job, layout) = (self.job, self.layout);
        let (fitted, cover) = (&layout.fitted, &layout.cover);
        let cell = match fitted.kind {
            PatternKind::Diamond => "Diamond",
            PatternKind::Square => "Square",
            PatternKind::Flutes => "Flute",
            PatternKind::Single => "Bay, on the whole",
        };
        let both = |mm: f64| format!("{} ({})", length(mm, job.unit), length(mm, other(job.unit)));
        let mut facts = vec![
            (cell, size_both([fitted.width, fitted.height], job.unit)),
            match fitted.kind {
                PatternKind::Flutes => ("Ties", count(layout.buttons.len(), "tie", "ties")),
                _ => (
                    "Buttons",
                    format!(
                        "{}, {} across",
                        count(layout.buttons.len(), "button", "buttons"),
                        both(job.button_diameter)
                    ),
                ),
            },
            (
                "Nearest edge",
                format!(
                    "{} from a {} to the edge",
                    both(layout.nearest_edge),
                    if fitted.kind == PatternKind::Flutes { "groove" } else { "button's centre" }
                ),
            ),
            ("Cover", format!("cut {}", size_both(cover.cut, job.unit))),
            (
                "Marked",
                match fitted.fan {
                    Some(_) => {
                        format!("a diamond half-way out as {}", size_both(cover.marked, job.unit))
                    }
                    None => format!(
                        "each {} as {}",
                        crate::layout::shape_word(fitted.kind).trim_end_matches('s'),
                        size_both(cover.marked, job.unit)
                    ),
                },
            ),
        ];
        let ways = [("Allowance across", 0), ("Allowance down", 1)];
        let flutes = fitted.kind == PatternKind::Flutes;
        for (way, i) in ways.into_iter().take(if flutes { 1 } else { 2 }) {
            let bounds = cover.bounds[i];
            facts.push((
                way,
                format!(
                    "{} (needs {} to reach the seat, {} is all that fits)",
                    from_to(cover.ends[i], |mm| length(mm, job.unit)),
                    length(bounds.least, job.unit),
                    length(bounds.most, job.unit)
                ),
            ));
        }
        if let Top::Following { .. } = job.pattern.top {
            let turned = layout.turned;
            facts.push((
                "Top rows",
                format!("follow the outline; pleats turn at most {turned:.1} degrees from a straight grid"),
            ));
        }
        if let Some(used_in) = &job.used_in {
            facts.push(("Used in", format!("{used_in} (stated, not checked)")));
        }
        listed(&facts)
    }
}

/// Any program from elsewhere, as it was rehearsed.
pub struct Foreign<'a> {
    pub file: &'a str,
    pub text: &'a str,
    pub machine: &'a Machine,
    pub work: Option<WorkSize>,
    pub trace: &'a [Move],
    pub rehearsal: &'a Rehearsal,
}

/// The preview of a program from elsewhere. It has no panel and no names: holes are numbered as they come.
pub fn preview(program: &Foreign) -> String {
    let Foreign { file, text, machine, trace, rehearsal, .. } = *program;
    let size = program.work.or(rehearsal.stated_work);
    let sheet = |size: WorkSize| drawing::rectangle(Rect::new(0.0, 0.0, size.x, size.y));
    let bed = OnBed {
        file,
        machine,
        work: None,
        outline: size.map(sheet).unwrap_or_default(),
        panel: BezPath::new(),
        text,
        trace,
        rehearsal,
        spots: bed::spots(trace, machine, &[]),
        elsewhere: Vec::new(),
        dowels: Vec::new(),
    };
    let lies = match size {
        Some(_) => "Its work lies with its lower left corner at X0 Y0",
        None => "The size of its work is not known: --work says it",
    };
    let faults = count(rehearsal.faults.len() + rehearsal.unlisted as usize, "fault", "faults");
    let made = [
        count(rehearsal.holes as usize, "hole", "holes"),
        count(rehearsal.cuts as usize, "cut sideways", "cuts sideways"),
        count(rehearsal.strokes as usize, "pen line", "pen lines"),
    ];
    let span = |axis: usize| {
        let [low, high] = [rehearsal.bounds.min, rehearsal.bounds.max].map(|p| decimal(p[axis], 2));
        format!("{low} to {high}")
    };
    let facts = [
        ("Faults", format!("{faults}, {}", count(rehearsal.warnings.len(), "warning", "warnings"))),
        ("Makes", made.join(", ")),
        ("Reaches", format!("X {}, Y {}, Z {} mm", span(0), span(1), span(2))),
        ("Lines", rehearsal.lines.to_string()),
    ];
    let short = items(notice::SHORT);
    let first = fill(REHEARSED, &[("facts", &listed(&facts)), ("short", &short)]);
    let part = part(&bed, file, lies, "", Unit::Millimetre);
    page(file, &machine.title, ("rehearsed", &first), &[bed], &part, Unit::Millimetre)
}

/// The whole page; `first` is the part that stands before the programs, after its name.
fn page(
    title: &str,
    under: &str,
    (first_id, first): (&str, &str),
    programs: &[OnBed],
    parts: &str,
    unit: Unit,
) -> String {
    let link = |id: &str| format!("<li><a href=\"#{id}\">{id}</a></li>");
    let links: String =
        link(first_id) + &programs.iter().map(|p| link(&p.id())).collect::<String>();
    stamped(fill(
        PAGE,
        &[
            ("watch", WATCH),
            ("title", &escape(title)),
            ("pictures", super::PICTURES),
            ("on_paper", ON_PAPER),
            ("style", STYLE),
            ("under", &escape(under)),
            ("links", &links),
            ("first_id", first_id),
            ("first", first),
            ("programs", parts),
            ("whole", &items(notice::WHOLE)),
            ("data", &data(programs, unit)),
            ("script", SCRIPT),
        ],
    ))
}

/// What a program works on.
fn what(plan: &Plan) -> String {
    let of_several = |word: &str| match plan.part {
        Part::WHOLE => word.to_string(),
        Part { number, of } => format!("{word}, {number} of {of}"),
    };
    match plan.work {
        Work::Board => of_several("Board"),
        Work::Foam => of_several("Foam"),
        Work::Fabric => format!("{}, back up", cover::name(plan.part)),
    }
}

fn listed(facts: &[(&str, String)]) -> String {
    let row = |(name, says): &(&str, String)| {
        format!("<div><dt>{name}</dt><dd>{}</dd></div>", escape(says))
    };
    facts.iter().map(row).collect()
}

/// A program with the layout's names for its places.
pub(super) fn on_bed<'a>(program: &'a Program, programs: &[Program], layout: &Layout) -> OnBed<'a> {
    let of = |sheet: &HoleSheet| sheet.holes().map(|(name, at, _)| (name, at)).collect();
    let (places, outline): (Vec<(Name, Point<Sheet>)>, _) = match program.plan.work {
        // What is cut out is a whole sheet before.
        Work::Board if layout.board.is_cut_out() => {
            let [w, h] = layout.board.size;
            (of(&layout.board), Rect::new(0.0, 0.0, w, h).to_path(0.1))
        }
        Work::Board => (
            of(&layout.board),
            outline::path_with_holes(&layout.board.edge, &layout.board.openings),
        ),
        Work::Foam => {
            let foam = &layout.foam;
            (of(foam), outline::path_with_holes(&foam.beyond(foam.margin), &foam.openings))
        }
        Work::Fabric => {
            let piece = &layout.cover.pieces[program.plan.part.number as usize - 1];
            (piece.marks.clone(), cover::outline(piece))
        }
    };
    let board = &layout.board;
    let panel = match program.plan.work {
        Work::Board if board.is_cut_out() => outline::path_with_holes(&board.edge, &board.openings),
        _ => BezPath::new(),
    };
    let setup = &program.plan.setup;
    let mut on_panel: BTreeMap<Name, [f64; 2]> =
        layout.buttons.iter().map(|button| (button.name, [button.at.x, button.at.y])).collect();
    if let Some(locating) = &layout.board.locating {
        let places = locating.places.iter().zip(&locating.on_panel);
        on_panel.extend(places.map(|((name, _), at)| (*name, [at.x, at.y])));
    }
    let others: &[OtherHole] = match program.plan.work {
        Work::Board => &layout.board.others,
        _ => &[],
    };
    let own = places.iter().map(|(name, at)| (*name, *at, on_panel[name]));
    let named: Vec<Named> = own
        .chain(others.iter().map(|other| (other.name, other.at, other.on_panel)))
        .map(|(name, at, on_panel)| Named {
            name: name.to_string(),
            at: setup.lay.place([um(at.x), um(at.y)]).map(plan::mm),
            on_panel,
        })
        .collect();
    let trace = program.verified.trace();
    let others = programs.iter().map(|other| &other.plan).filter(|other| {
        other.work == program.plan.work
            && other.part == program.plan.part
            && other.setup.number != setup.number
    });
    let elsewhere = others.flat_map(|other| {
        let holes = other.steps.iter().filter_map(|step| match step {
            Step::Drill { name, at, .. } | Step::Bore { name, at, .. } => Some((*name, *at)),
            _ => None,
        });
        holes.map(|(name, at)| Elsewhere {
            at: setup.lay.place(other.setup.lay.back(at)).map(plan::mm),
            diameter: match program.plan.work {
                Work::Foam => layout.foam.hole,
                _ => diameter(&layout.board, name),
            },
            when: match other.setup.number < setup.number {
                true => When::Before,
                false => When::Later,
            },
        })
    });
    let dowels = setup.dowels.iter().flatten().map(|dowel| Peg {
        at: dowel.at.map(plan::mm),
        diameter: plan::mm(dowel.diameter),
        hole: dowel.hole.to_string(),
    });
    OnBed {
        file: &program.file,
        machine: &program.machine,
        work: Some(program.plan.work),
        outline: affine(&setup.lay) * &outline,
        panel: affine(&setup.lay) * &panel,
        text: program.verified.text(),
        trace,
        rehearsal: program.verified.rehearsal(),
        spots: bed::spots(trace, &program.machine, &named),
        elsewhere: elsewhere.collect(),
        dowels: dowels.collect(),
    }
}

fn diameter(sheet: &HoleSheet, name: Name) -> f64 {
    let mut all = sheet.all_holes();
    all.find(|(hole, ..)| *hole == name).map_or(sheet.hole, |(_, _, diameter)| diameter)
}

/// A lay for whole paths.
fn affine(lay: &Lay) -> kurbo::Affine {
    let [origin, right, up] = [[0, 0], [1000, 0], [0, 1000]].map(|at| lay.place(at).map(plan::mm));
    let [a, b] = [right[0] - origin[0], right[1] - origin[1]];
    let [c, d] = [up[0] - origin[0], up[1] - origin[1]];
    kurbo::Affine::new([a, b, c, d, origin[0], origin[1]])
}

/// How the work is laid down for this program, where that is not plain.
fn laid(plan: &Plan) -> String {
    match plan.laid_down().as_slice() {
        [] => String::new(),
        says => {
            let list = items(says.iter().map(String::as_str));
            format!("<h3>How it lies</h3><ul class=\"laid\">{list}</ul>")
        }
    }
}

/// One program's part of the page.
fn part(program: &OnBed, what: &str, lies: &str, laid: &str, unit: Unit) -> String {
    let [_, _, width, height] = program.window();
    let bounds = kurbo::Shape::bounding_box(&program.outline);
    let size = match bounds.area() > 0.0 {
        true => format!("<b>{}</b>. ", size_both([bounds.width(), bounds.height()], unit)),
        false => String::new(),
    };
    fill(
        PROGRAM,
        &[
            ("id", &program.id()),
            ("what", &escape(what)),
            ("file", &escape(program.file)),
            ("machine", &escape(&program.machine.title)),
            ("size", &size),
            ("lies", lies),
            ("laid", laid),
            ("time", &duration(program.rehearsal.time.total())),
            ("pauses", &pauses(program.rehearsal.time.tool_change)),
            ("clamps", &clamps(&program.machine.keep_clear, unit)),
            ("shape", &format!("{:.4}", width / height)),
            ("picture", &program.drawing(Names::LeftToThePage).svg()),
            ("notes", &notes(program)),
            ("text", &escape(program.text)),
        ],
    )
}

/// What the page does not play back.
fn pauses(tool_change: f64) -> String {
    match tool_change > 0.0 {
        true => format!(", {} of it to change tools", duration(tool_change)),
        false => String::new(),
    }
}

fn clamps(boxes: &[KeepClear], unit: Unit) -> String {
    if boxes.is_empty() {
        return String::new();
    }
    let places = count(boxes.len(), "place to keep clear", "places to keep clear");
    let highest = boxes.iter().map(|clamp| clamp.height).fold(0.0, f64::max);
    let height = length(highest, unit);
    format!("<li class=\"key clamp\">{places}, up to {height} high</li>")
}

/// Faults and warnings, each with its line to go to.
fn notes(program: &OnBed) -> String {
    let faults = program.rehearsal.faults.iter().map(|f| ("Fault", f.line, &f.message));
    let warnings = program.rehearsal.warnings.iter().map(|w| ("Warning", w.line, &w.message));
    let listed: String = faults
        .chain(warnings)
        .map(|(kind, line, message)| {
            format!(
                "<li class=\"{}\"><button type=\"button\" data-line=\"{line}\">line {line}</button> <b>{kind}:</b> {}</li>",
                kind.to_lowercase(),
                escape(message)
            )
        })
        .collect();
    match listed.is_empty() {
        true => "<p class=\"sound\">Rehearsed from these very bytes: no faults, no warnings.</p>"
            .to_string(),
        false => format!("<ul class=\"notes\">{listed}</ul>"),
    }
}

fn warnings(warnings: &[String]) -> String {
    match warnings {
        [] => String::new(),
        _ => format!(
            "<aside class=\"warnings\" aria-label=\"Warnings\"><h3>Look at this first</h3><ul>{}</ul></aside>",
            items(warnings.iter().map(String::as_str))
        ),
    }
}

/// JSON that cannot end its script element: a `<` inside a text is written by its number.
fn data(programs: &[OnBed], unit: Unit) -> String {
    let data = PageData {
        inches: unit == Unit::Inch,
        programs: programs.iter().map(tape::tape).collect(),
    };
    serde_json::to_string(&data).expect("numbers and texts are JSON").replace('<', "\\u003c")
}
