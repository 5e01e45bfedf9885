//! `preview.html`: the panel as it will hang, then every program on its machine, played back from the trace
//! of its bytes. One file that asks nothing of any network.

use super::{
    Shown,
    bed::{self, Named, Names, OnBed},
    html::{escape, fill, items},
    panel, tape,
};
use crate::{
    frame::{Point, Sheet},
    job::PatternKind,
    layout::{Layout, Name},
    machine::{KeepClear, Work},
    notice,
    program::Program,
    units::Unit,
    words::{count, duration, length, other, size_both},
};
use serde::Serialize;
use std::collections::BTreeMap;

const PAGE: &str = include_str!("preview/page.html");
const PROGRAM: &str = include_str!("preview/program.html");
const STYLE: &str = include_str!("preview/page.css");
const PICTURES: &str = include_str!("pictures.css");
const SCRIPT: &str = include_str!("preview/page.js");

/// What the page's script reads.
#[derive(Serialize)]
struct PageData<'a> {
    /// Lengths are given in inches first.
    inches: bool,
    programs: Vec<tape::Tape<'a>>,
}

impl Shown<'_> {
    /// The page, the same bytes for the same job.
    pub fn preview(&self) -> String {
        let programs: Vec<OnBed> =
            self.programs.iter().map(|program| on_bed(program, self.layout)).collect();
        let parts: String = programs
            .iter()
            .zip(self.programs)
            .map(|(bed, program)| part(bed, program.plan.lies, self.job.unit))
            .collect();
        let links: String = programs
            .iter()
            .map(|p| format!("<li><a href=\"#{0}\">{0}</a></li>", escape(p.id())))
            .collect();
        let job = self.job;
        let pieces =
            if job.quantity == 1 { String::new() } else { format!(" · {} of them", job.quantity) };
        let panel = [self.layout.outline.width(), self.layout.outline.height()];
        fill(
            PAGE,
            &[
                ("title", &escape(&job.title)),
                ("pictures", PICTURES),
                ("style", STYLE),
                ("under", &escape(&format!("{}{pieces}", size_both(panel, job.unit)))),
                ("links", &links),
                ("panel", &panel::picture(job, self.layout)),
                ("facts", &self.facts()),
                ("warnings", &warnings(&self.layout.warnings)),
                ("programs", &parts),
                ("short", &items(notice::SHORT)),
                ("whole", &items(notice::WHOLE)),
                ("data", &data(&programs, job.unit)),
                ("script", SCRIPT),
            ],
        )
    }

    fn facts(&self) -> String {
        let (job, layout) = (self.job, self.layout);
        let (fitted, cover) = (&layout.fitted, &layout.cover);
        let cell = match fitted.kind {
            PatternKind::Diamond => "Diamond",
            PatternKind::Square => "Square",
        };
        let both = |mm: f64| format!("{} ({})", length(mm, job.unit), length(mm, other(job.unit)));
        let mut facts = vec![
            (cell, size_both([fitted.width, fitted.height], job.unit)),
            (
                "Buttons",
                format!(
                    "{}, {} across",
                    count(layout.buttons.len(), "button", "buttons"),
                    both(job.button_diameter)
                ),
            ),
            (
                "Nearest edge",
                format!("{} from a button's centre to the edge", both(layout.nearest_edge)),
            ),
            ("Cover", format!("cut {}", size_both(cover.cut, job.unit))),
            (
                "Marked",
                format!(
                    "each {} as {}",
                    crate::layout::shape_word(fitted.kind).trim_end_matches('s'),
                    size_both(cover.marked, job.unit)
                ),
            ),
        ];
        for (way, i) in [("Allowance across", 0), ("Allowance down", 1)] {
            let bounds = cover.bounds[i];
            facts.push((
                way,
                format!(
                    "{} (needs {} to reach the seat, {} is all that fits)",
                    length(cover.allowance[i], job.unit),
                    length(bounds.least, job.unit),
                    length(bounds.most, job.unit)
                ),
            ));
        }
        if let Some(used_in) = &job.used_in {
            facts.push(("Used in", format!("{used_in} (stated, not checked)")));
        }
        facts
            .iter()
            .map(|(name, says)| format!("<div><dt>{name}</dt><dd>{}</dd></div>", escape(says)))
            .collect()
    }
}

/// A program with the layout's names for its places.
pub(super) fn on_bed<'a>(program: &'a Program, layout: &Layout) -> OnBed<'a> {
    let (places, outline) = match program.plan.work {
        Work::Board => (&layout.board.places, layout.board.outline.clone()),
        Work::Foam => (&layout.foam.places, layout.foam.outline.clone()),
        Work::Fabric => {
            let piece = &layout.cover.pieces[program.plan.part.number as usize - 1];
            (&piece.marks, closed(&piece.outline))
        }
    };
    let on_panel: BTreeMap<Name, [f64; 2]> =
        layout.buttons.iter().map(|button| (button.name, [button.at.x, button.at.y])).collect();
    let named: Vec<Named> = places
        .iter()
        .map(|(name, at)| Named {
            name: name.to_string(),
            at: [at.x, at.y],
            on_panel: on_panel[name],
        })
        .collect();
    let trace = program.verified.trace();
    OnBed {
        file: &program.file,
        machine: &program.machine,
        work: Some(program.plan.work),
        outline,
        text: program.verified.text(),
        trace,
        rehearsal: program.verified.rehearsal(),
        spots: bed::spots(trace, &program.machine, &named),
    }
}

fn closed(points: &[Point<Sheet>]) -> kurbo::BezPath {
    let mut path = kurbo::BezPath::new();
    path.move_to((points[0].x, points[0].y));
    points[1..points.len() - 1].iter().for_each(|p| path.line_to((p.x, p.y)));
    path.close_path();
    path
}

/// One program's part of the page.
fn part(program: &OnBed, lies: &str, unit: Unit) -> String {
    let [_, _, width, height] = program.window();
    let bounds = kurbo::Shape::bounding_box(&program.outline);
    let what = program.work.map_or(program.file, |work| match work {
        Work::Board => "Board",
        Work::Foam => "Foam",
        Work::Fabric => "Cover, back up",
    });
    fill(
        PROGRAM,
        &[
            ("id", &escape(program.id())),
            ("what", what),
            ("file", &escape(program.file)),
            ("machine", &escape(&program.machine.title)),
            ("size", &size_both([bounds.width(), bounds.height()], unit)),
            ("lies", lies),
            ("time", &duration(program.rehearsal.time.total())),
            ("clamps", &clamps(&program.machine.keep_clear)),
            ("shape", &format!("{:.4}", width / height)),
            ("picture", &program.picture(Names::LeftToThePage)),
            ("notes", &notes(program)),
            ("text", &escape(program.text)),
        ],
    )
}

fn clamps(boxes: &[KeepClear]) -> String {
    match boxes.len() {
        0 => String::new(),
        n => format!(
            "<li class=\"key clamp\">{}</li>",
            count(n, "place to keep clear", "places to keep clear")
        ),
    }
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
