//! A job file, read and checked as far as it can be without laying anything out.

mod fabric;

use super::*;
use crate::{
    diag::{Diagnostic, Source},
    form::{self, Form, Within},
    machine,
};

/// Shapes that the job file will know one day; named so that a person is not told of a misspelling.
const LATER_SHAPES: [&str; 6] = ["arch", "shouldered", "ellipse", "polygon", "path", "drawing"];

/// Reads a job file. All that is wrong comes back at once.
pub fn read(source: &Source) -> Result<Job, Vec<Diagnostic>> {
    form::read(source, |f| {
        let unit = machine::read_unit(f);
        let title = f.text("title");
        if title.value.trim().is_empty() && f.has("title") {
            f.note(
                Diagnostic::at(title.span.clone(), "the title is empty")
                    .help("write a name that the bench will know the job by"),
            );
        }
        let quantity = f.count_or("quantity", 1, 1).value;
        let used_in = f.text_if("used_in").map(|text| text.value);
        let panel = f.table("panel", panel);
        let board = f.table("board", board);
        let foam = f.table("foam", foam);
        let wadding =
            f.table_if("wadding", |f| Some(f.length("thickness", Within::NotNegative).value));
        let button = f.table("button", |f| Some(f.length("diameter", Within::Positive).value));
        let pattern = f.table("pattern", pattern);
        let fabric = f.table("fabric", |f| {
            fabric::fabric(f, foam.as_ref().map_or(f64::NAN, |foam| foam.hole.value))
        });
        let on = f.table("on", on);
        Some(Job {
            title: title.value,
            quantity,
            unit,
            used_in,
            panel: panel?,
            board: board?,
            foam: foam?,
            wadding: wadding.unwrap_or(0.0),
            button_diameter: button?,
            pattern: pattern?,
            fabric: fabric?,
            on: on?,
        })
    })
}

/// `[panel.SHAPE]`: exactly one.
fn panel(f: &mut Form) -> Option<Shape> {
    let later = f.present(&LATER_SHAPES);
    for shape in LATER_SHAPES {
        f.has(shape);
    }
    for (shape, span) in &later {
        f.note(
            Diagnostic::at(span.clone(), format!("the shape `{shape}` is not made by this version"))
                .help("only [panel.rectangle] is; lay out the bounding rectangle, or wait for a later version"),
        );
    }
    let rectangle = f.table_if("rectangle", |f| {
        let width = f.length("width", Within::Positive);
        let height = f.length("height", Within::Positive);
        Some(Shape::Rectangle { width, height })
    });
    if rectangle.is_some() && !later.is_empty() {
        f.note(
            Diagnostic::at(f.span(), "the panel has two shapes")
                .help("keep one table: [panel.rectangle]"),
        );
    }
    if rectangle.is_none() && later.is_empty() && !f.has("rectangle") {
        f.missing_table("rectangle");
    }
    rectangle
}

fn board(f: &mut Form) -> Option<Board> {
    Some(Board {
        thickness: f.length("thickness", Within::Positive).value,
        hole: f.length("hole", Within::Positive),
        face_up: f
            .choice_or_first("face_up", &[("front", FaceUp::Front), ("back", FaceUp::Back)])
            .value,
    })
}

fn foam(f: &mut Form) -> Option<Foam> {
    let foam = Foam {
        thickness: f.length("thickness", Within::Positive).value,
        hole: f.length("hole", Within::Positive),
        leave: f.length_or("leave", Within::NotNegative, 0.0),
        work: f.choice_or_first("work", &[("drill", FoamWork::Drill), ("mark", FoamWork::Mark)]),
        rest: match f.yes_or_no_or("rest", false) {
            true => Rest::BetweenNeighbours,
            false => Rest::No,
        },
    };
    if foam.leave.value >= foam.thickness {
        f.note(
            Diagnostic::at(
                foam.leave.span.clone(),
                "`leave` is the whole thickness of the foam: there would be no hole",
            )
            .help(format!("write less than {} mm; 0 cuts through", foam.thickness)),
        );
    }
    Some(foam)
}

/// `[pattern.diamond]` or `[pattern.square]`: exactly one.
fn pattern(f: &mut Form) -> Option<Pattern> {
    let diamond = f.table_if("diamond", |f| lattice(f, PatternKind::Diamond));
    let square = f.table_if("square", |f| lattice(f, PatternKind::Square));
    match (diamond, square) {
        (Some(_), Some(square)) => {
            f.note(
                Diagnostic::at(square.place.span, "there are two patterns")
                    .help("keep either [pattern.diamond] or [pattern.square]"),
            );
            None
        }
        (None, None) => {
            f.note(
                Diagnostic::at(f.span(), "the pattern is missing").help(
                    "add [pattern.diamond] or [pattern.square] with its width, height and edge",
                ),
            );
            None
        }
        (diamond, square) => diamond.or(square),
    }
}

fn lattice(f: &mut Form, kind: PatternKind) -> Option<Pattern> {
    let fit = f.choice_or_first("fit", &[("whole", Fit::Whole), ("exact", Fit::Exact)]).value;
    let across = axis(f, fit, "width", "across");
    let down = axis(f, fit, "height", "rows");
    let top_row = f.choice_or_first("top_row", &[("long", Row::Long), ("short", Row::Short)]).value;
    let edge = edge(f);
    let place = Given { value: (), span: f.span() };
    Some(Pattern { kind, fit, across, down, top_row, edge, place })
}

/// A size or a count; an exact fit needs the size, a whole fit either.
fn axis(f: &mut Form, fit: Fit, size_key: &'static str, count_key: &'static str) -> Axis {
    let least = match (fit, count_key) {
        (Fit::Exact, "rows") => 1,
        _ => 2,
    };
    let count = f.count_if(count_key, least);
    let needs_size = fit == Fit::Exact || count.is_none();
    let size = if needs_size {
        Some(f.length(size_key, Within::Positive))
    } else {
        f.length_if(size_key, Within::Positive)
    };
    Axis { size, count }
}

/// One figure for all sides, or `{ sides = …, top = …, bottom = … }`.
fn edge(f: &mut Form) -> Given<Edge> {
    if f.is_table("edge") {
        let table = f.table_if("edge", |f| {
            let mut side = |key| f.length(key, Within::NotNegative).value;
            let value = Edge { sides: side("sides"), top: side("top"), bottom: side("bottom") };
            Some(Given { value, span: f.span() })
        });
        return table.expect("`is_table` said that the key holds a table");
    }
    let all = f.length("edge", Within::NotNegative);
    let value = Edge { sides: all.value, top: all.value, bottom: all.value };
    Given { value, span: all.span }
}

fn on(f: &mut Form) -> Option<On> {
    let mut machine = |key| f.text_if(key);
    Some(On { board: machine("board"), foam: machine("foam"), fabric: machine("fabric") })
}
