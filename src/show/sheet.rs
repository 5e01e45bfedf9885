//! The sheet: a page for the bench and a page for each program, put together once and written twice, as
//! `sheet.html` and as `sheet.pdf`.

mod cloth;
mod html;
mod pdf;

use super::{
    Shown,
    bed::Names,
    drawing::Drawing,
    materials,
    materials::Cutting,
    panel,
    preview::on_bed,
    quote::{Line, Quote},
    tape::turns,
};
use crate::{
    job::{PatternKind, Turned},
    machine::{Kind, Lift, Machine, Tool, Work},
    notice,
    paper::Paper,
    plan::{Plan, Step, mm},
    program::Program,
    units::Unit,
    words::{both, capital, count, decimal, duration, from_to, length, size_both},
};

/// All that stands on the sheet.
struct Sheet {
    title: String,
    pages: Vec<Page>,
}

/// One page, if all fits on it.
struct Page {
    heading: String,
    under: String,
    /// In rows, one below the other.
    pictures: Vec<Vec<Drawing>>,
    columns: [Vec<Block>; 2],
    /// Over the whole width.
    foot: Vec<Block>,
}

struct Block {
    head: &'static str,
    body: Body,
}

enum Body {
    Table(Vec<(&'static str, String)>),
    /// One after the other.
    Numbered(Vec<String>),
    /// To be ticked.
    Ticks(Vec<String>),
    Points(Vec<String>),
    /// To be read first.
    Alarm(Vec<String>),
    Sentence(String),
}

impl Shown<'_> {
    /// `sheet.html`, the same bytes for the same job.
    pub fn sheet(&self) -> String {
        html::write(&self.put_together())
    }

    /// `sheet.pdf`, the same.
    pub fn sheet_pdf(&self, paper: Paper) -> Vec<u8> {
        pdf::write(&self.put_together(), paper)
    }

    fn put_together(&self) -> Sheet {
        let mut pages = vec![self.bench_page(), self.cutting_page()];
        pages.extend(self.pair_that_saves().map(|pair| self.pair_page(pair)));
        pages.extend(self.programs.iter().map(|program| self.program_page(program)));
        Sheet { title: self.job.title.clone(), pages }
    }

    fn bench_page(&self) -> Page {
        let job = self.job;
        let panel_size = [self.layout.outline.width(), self.layout.outline.height()];
        let of_them =
            if job.quantity == 1 { String::new() } else { format!(" · {} of them", job.quantity) };
        let used_in = match &job.used_in {
            Some(place) => format!("To be used in: {place} (stated, not checked)."),
            None => {
                "Where it will be used was not stated: find out which fire law applies.".to_string()
            }
        };
        let mut foot = Vec::new();
        if !self.layout.warnings.is_empty() {
            foot.push(Block { head: "Look out", body: Body::Alarm(self.layout.warnings.clone()) });
        }
        foot.push(Block { head: "Safety", body: Body::Sentence(used_in) });
        foot.push(Block { head: "", body: Body::Points(texts(notice::WHOLE)) });
        let mut left = vec![Block { head: "Take", body: Body::Table(self.take()) }];
        if let Some(quote) = self.quote() {
            left.push(Block { head: "Quote", body: Body::Table(quote_rows(&quote)) });
            left.push(Block { head: "", body: Body::Points(quote.notes()) });
        }
        let right = vec![
            Block { head: "In this order", body: Body::Numbered(self.bench_order()) },
            Block { head: "The cover", body: Body::Table(self.cover_table()) },
        ];
        Page {
            heading: job.title.clone(),
            under: format!("{}{of_them}", size_both(panel_size, job.unit)),
            pictures: vec![vec![panel::lines(job, self.layout)]],
            columns: [left, right],
            foot,
        }
    }

    /// How the work goes at the bench. Cloth rests flat before it is marked: garment trade guides, 12
    /// to 24 h. The rest is common practice, no source.
    fn bench_order(&self) -> Vec<String> {
        let kind = self.layout.fitted.kind;
        let flutes = kind == PatternKind::Flutes;
        let trial = match kind {
            PatternKind::Diamond => "Button one diamond",
            PatternKind::Square => "Button one square",
            PatternKind::Flutes => "Tie down one flute",
            PatternKind::Single => "Sink one button",
        };
        let foam = match flutes {
            true => {
                "slit the foam along its grooves; glue the foam to the board, grooves over holes"
            }
            false => "cut or mark the foam; glue the foam to the board, hole over hole",
        };
        let cover = match self.layout.cover.pieces.len() {
            1 => "Cut the cover, mark its back,",
            _ => "Cut the pieces of the cover, mark their backs, sew them together;",
        };
        let notches = if flutes { "grooves" } else { "outside buttons" };
        let wadding = if flutes { "push it into every groove" } else { "open it over every hole" };
        let buttoning = match kind {
            PatternKind::Diamond => {
                "Button from the middle outwards, row by row; lay each pleat as you go, its fold facing down, or forwards on a seat."
            }
            PatternKind::Square => {
                "Button from the middle outwards, row by row; lay each pleat as you go, level folds facing down, or forwards on a seat."
            }
            PatternKind::Flutes => {
                "Tie the grooves from the middle outwards, each from its middle to its ends."
            }
            PatternKind::Single => "Button from the middle outwards.",
        };
        let edge = match kind {
            PatternKind::Diamond | PatternKind::Square => "Run the edge pleats straight out, turn",
            PatternKind::Flutes => "Run the grooves straight out, turn",
            PatternKind::Single => "Turn",
        };
        vec![
            "Let the cloth rest flat for 12 to 24 hours.".to_string(),
            format!("{trial} in cheap cloth with these figures before the dear cloth is cut."),
            format!("Drill the board; {foam}."),
            format!("{cover} notch the edge in line with the {notches}."),
            format!("Lay the wadding on and {wadding}."),
            buttoning.to_string(),
            format!("{edge} the cloth in, and staple it behind."),
        ]
    }

    /// What to cut, one after the other.
    fn cutting_order(&self) -> Vec<String> {
        let unit = self.job.unit;
        let line = |cutting: &Cutting| {
            let size = match cutting.size_mm[..] {
                [w, h] => size_both([w, h], unit),
                _ => format!("{} long", both(cutting.size_mm[0], unit)),
            };
            let Cutting { what, pieces, from, .. } = cutting;
            format!("{}: {pieces} of {size}, from the {from}", capital(what))
        };
        materials(self.job, self.layout).cutting_order.iter().map(line).collect()
    }

    /// What the whole order takes.
    fn take(&self) -> Vec<(&'static str, String)> {
        let unit = self.job.unit;
        let m = materials(self.job, self.layout);
        let sheet = |n: u32, [w, h, thick]: [f64; 3]| {
            format!("{n} of {}, {} thick", size_both([w, h], unit), length(thick, unit))
        };
        let mut rows = vec![
            (
                "Buttons",
                format!(
                    "{} and {} to spare, {} across",
                    m.buttons,
                    m.spare_buttons,
                    both(m.button_mm, unit)
                ),
            ),
            (
                "Twine",
                format!(
                    "{} m, {} each, doubled",
                    decimal(m.twine_m, 1),
                    both(m.twine_each_mm, unit)
                ),
            ),
            ("Board", sheet(m.boards, m.board_mm)),
            ("Foam", sheet(m.foams, m.foam_mm)),
        ];
        // A groove is tied without a button.
        if m.buttons == 0 {
            rows.remove(0);
        }
        let board = &self.layout.board;
        if !board.others.is_empty() {
            let hole = |other: &crate::layout::OtherHole| {
                let deep = match other.depth {
                    Some(depth) => format!("{} deep", length(depth, unit)),
                    None => "through".to_string(),
                };
                format!("{} {}, {}, {deep}", other.name, other.reason, length(other.diameter, unit))
            };
            let holes: Vec<String> = board.others.iter().map(hole).collect();
            rows.push(("Other holes of a board", holes.join("; ")));
        }
        if board.is_cut_out() {
            let says = "cut out of a larger sheet, screwed or clamped down all round; leave the tabs until the spindle stands still";
            rows.push(("Each board", says.to_string()));
        }
        if let Some(wadding) = m.wadding_mm {
            rows.push(("Wadding", sheet(m.panels, wadding)));
        }
        rows.push((
            "Cover",
            format!(
                "{} cut {}: {} m {}",
                m.covers,
                size_both(m.cover_mm, unit),
                decimal(m.cloth_m, 2),
                match self.layout.cover.roll.first_cut {
                    Some(_) => "to buy, a repeat of it to reach the first motif",
                    None => "off the roll",
                }
            ),
        ));
        rows.push(("Back lining", format!("{} of {}", m.panels, size_both(m.lining_mm, unit))));
        rows.push((
            "Tack strip",
            format!("{} m; as much piping, if the edge has it", decimal(m.tack_strip_m, 1)),
        ));
        rows.push(("Staples", format!("about {}", m.staples)));
        rows
    }

    fn cover_table(&self) -> Vec<(&'static str, String)> {
        let (unit, cover) = (self.job.unit, &self.layout.cover);
        let shape = crate::layout::shape_word(self.layout.fitted.kind);
        let mut rows = vec![
            ("Cut", size_both(cover.cut, unit)),
            (
                "Marked",
                match self.layout.fitted.fan {
                    Some(_) => format!("a diamond half-way out {}", size_both(cover.marked, unit)),
                    None => format!("each {shape} {}", size_both(cover.marked, unit)),
                },
            ),
            ("Pulled down", both(cover.depth, unit)),
        ];
        for (way, i) in [("Allowance across", 0), ("Allowance down", 1)] {
            let bounds = cover.bounds[i];
            rows.push((
                way,
                format!(
                    "{}; needs {} to reach, {} is all that fits",
                    from_to(cover.ends[i], |mm| both(mm, unit)),
                    length(bounds.least, unit),
                    length(bounds.most, unit)
                ),
            ));
        }
        let lies = match self.job.fabric.turned.value {
            Turned::Upright => "back up, top away from you: left and right exchanged",
            Turned::Sideways => {
                "back up, turned sideways: its top to your right, its left side towards you"
            }
        };
        rows.push(("Lies", lies.to_string()));
        rows
    }

    fn program_page(&self, program: &Program) -> Page {
        let unit = self.job.unit;
        let (plan, machine) = (&program.plan, &program.machine);
        let [w, h, thick] = plan.size.map(mm);
        let [x, y] = machine.bed.work_at.map(|at| both(at, unit));
        let thickness =
            if thick > 0.0 { format!(", {} thick", both(thick, unit)) } else { String::new() };
        let clamps: Vec<String> = machine
            .keep_clear
            .iter()
            .map(|c| {
                let span =
                    |[from, to]: [f64; 2]| [from, to].map(|at| length(at, unit)).join(" to ");
                format!("X {}, Y {}, {} high", span(c.x), span(c.y), length(c.height, unit))
            })
            .collect();
        let clamps =
            if clamps.is_empty() { "nothing stated".to_string() } else { clamps.join("; ") };
        let top = match plan.has_heights() {
            true => {
                let height = length(mm(plan.travel_height), unit);
                format!("{}; the tool travels {height} above it", plan.top)
            }
            false => "its top; the pen is lifted by words, not in Z".to_string(),
        };
        let zero = match plan.setup.lay.corner {
            [0, 0] => format!("its lower left corner, at X {x}, Y {y} of the bed"),
            _ => format!("at X {x}, Y {y} of the bed"),
        };
        let mut right = Vec::new();
        let laid = plan.laid_down();
        if !laid.is_empty() {
            right.push(Block { head: "How it lies", body: Body::Points(laid) });
        }
        right.push(Block {
            head: "Tick before you start",
            body: Body::Ticks(texts(checks(plan, machine))),
        });
        right.push(notes(program));
        right.push(Block { head: "Safety", body: Body::Points(texts(notice::SHORT)) });
        let mut lay = vec![
            (work_row(plan.work), format!("{}{thickness}", size_both([w, h], unit))),
            ("Lies", plan.lies.to_string()),
            ("X0 Y0", zero),
            ("Z0", top),
            ("Keep clear", clamps),
        ];
        if let Some((thing, off)) = plan.setup.worst {
            let off = both(off, unit);
            lay.push((
                "Play",
                format!("of the dowels: puts nothing farther off than {thing}, by {off} at most"),
            ));
        }
        let mut left = vec![Block { head: "Lay it down", body: Body::Table(lay) }];
        left.extend(tool_blocks(program, unit));
        left.push(Block { head: "Time", body: Body::Table(time_rows(program)) });
        Page {
            heading: program.file.clone(),
            under: format!("{} · {}", self.job.title, machine.title),
            pictures: vec![vec![
                on_bed(program, self.programs, self.layout).drawing(Names::Written),
            ]],
            columns: [left, right],
            foot: Vec::new(),
        }
    }
}

fn quote_rows(quote: &Quote) -> Vec<(&'static str, String)> {
    let row = |line: &Line| {
        let (price, sum) = (quote.price(line), quote.money(quote.comes_to(line)));
        (line.what, format!("{} at {price}: {sum}", line.says))
    };
    let mut rows: Vec<(&'static str, String)> = quote.lines.iter().map(row).collect();
    rows.push(("Sum", format!("{} {}", quote.money(quote.sum()), quote.currency())));
    rows
}

fn texts(texts: impl IntoIterator<Item = &'static str>) -> Vec<String> {
    texts.into_iter().map(str::to_string).collect()
}

fn piece_row(number: u32, of: u32) -> &'static str {
    match (of, number) {
        (1, _) => "Each cover",
        (_, 1) => "Pieces, from A",
        _ => "",
    }
}

fn work_row(work: Work) -> &'static str {
    match work {
        Work::Board => "The board",
        Work::Foam => "The foam",
        Work::Fabric => "The cover",
    }
}

/// Every tool that the plan fits, in order, or the pen.
fn tool_blocks(program: &Program, unit: Unit) -> Vec<Block> {
    let machine = &program.machine;
    let mut fitted: Vec<Tool> = Vec::new();
    for step in &program.plan.steps {
        if let Step::Fit { tool, rpm, feed, .. } = step {
            let tool = machine.tools.iter().find(|t| t.number == *tool);
            fitted.extend(tool.map(|t| Tool { rpm: *rpm, feed: mm(*feed), ..t.clone() }));
        }
    }
    if !fitted.is_empty() {
        let rows =
            |tool: Tool| Block { head: "Fit this tool", body: Body::Table(tool_rows(&tool, unit)) };
        return fitted.into_iter().map(rows).collect();
    }
    let pen = machine.pen.as_ref().expect("a program was planned for a tool or a pen");
    let lift = match &pen.lift {
        Lift::Height { up, down } => {
            format!("up at {}, down at {}", length(*up, unit), length(*down, unit))
        }
        Lift::Words { up, down } => format!("up by {up}, down by {down}"),
    };
    let rows = vec![
        ("Line", format!("{} wide", length(pen.width, unit))),
        ("Speed", format!("{} mm/min", decimal(pen.speed, 0))),
        ("Lifted", lift),
    ];
    vec![Block { head: "Fit the pen", body: Body::Table(rows) }]
}

fn tool_rows(tool: &Tool, unit: Unit) -> Vec<(&'static str, String)> {
    vec![
        ("Tool", format!("{}: {}", tool.number, tool.name)),
        ("Diameter", both(tool.diameter, unit)),
        ("Stands out", format!("{} below its holder", both(tool.reach, unit))),
        ("Turns", turns(tool.rotation).to_string()),
        ("Speed", format!("{} rpm, feed {} mm/min", decimal(tool.rpm, 0), decimal(tool.feed, 0))),
    ]
}

fn time_rows(program: &Program) -> Vec<(&'static str, String)> {
    let time = &program.verified.rehearsal().time;
    let parts = [
        ("Travelling", time.rapid),
        ("Working", time.feed),
        ("Straight down", time.plunge),
        ("Waiting", time.dwell + time.spin_up + time.pen_settle),
        ("Changing tools", time.tool_change),
    ];
    let mut rows: Vec<(&'static str, String)> =
        parts.into_iter().filter(|(_, s)| *s > 0.0).map(|(name, s)| (name, duration(s))).collect();
    rows.push(("In all", duration(time.total())));
    rows
}

/// What a person looks at before the start; common practice, no source.
fn checks(plan: &Plan, machine: &Machine) -> Vec<&'static str> {
    let goes_on = plan.setup.number > 1 && plan.work != Work::Foam;
    let mut checks = vec![
        "The right side is up, and the top is where the picture has it.",
        match (goes_on, plan.has_heights()) {
            (true, true) => "X0 and Y0 are as they were; Z0 is touched off.",
            (true, false) => "X0 and Y0 are as they were.",
            (false, true) => "X0 Y0 and Z0 are touched off.",
            (false, false) => "X0 Y0 is set.",
        },
    ];
    if plan.fitted().len() > 1 {
        checks.push("All its bits are at hand, in turn; each is touched off where the first was.");
    }
    if machine.kind == Kind::Router {
        checks.push("Nothing but the sheet and its clamps lies on the bed; the clamps are where the picture has them.");
    }
    match plan.work {
        Work::Board => checks.extend([
            "A spoilboard lies under the board; the board is held flat.",
            "The right bit is tight in its holder and stands out far enough.",
            "Guards and extraction are on; eyes, ears and lungs are protected.",
        ]),
        Work::Foam => checks.extend([
            "The foam is held flat and cannot creep or lift.",
            "A cutter turns IN REVERSE; a pen needs the spindle stopped.",
            "Guards and extraction are on; eyes, ears and lungs are protected.",
        ]),
        Work::Fabric => checks.extend([
            "The cloth has rested flat and lies wrong side up, without a wrinkle.",
            "The ink was tested on a scrap: it must not show through or bleed.",
        ]),
    }
    checks.push("The program was run once in the air, well above the work.");
    checks.push("Somebody stays beside the machine, a hand near the stop.");
    checks
}

/// Warnings of the rehearsal.
fn notes(program: &Program) -> Block {
    let warnings = &program.verified.rehearsal().warnings;
    if warnings.is_empty() {
        let sound = format!("Rehearsed: no faults, {}.", count(0, "warning", "warnings"));
        return Block { head: "", body: Body::Sentence(sound) };
    }
    let said = warnings.iter().map(|w| format!("line {}: {}", w.line, w.message)).collect();
    Block { head: "Look out", body: Body::Alarm(said) }
}
