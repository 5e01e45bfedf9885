//! What `make` and `layout` say on the screen: short, in plain words.

use super::{Shown, materials, materials::spare_buttons};
use crate::{
    job::{Job, PatternKind, Top},
    layout::{self, Choice, Layout, Surveyed, piece_letter},
    machine::Work,
    notice,
    program::Program,
    units::Unit,
    words::{both, count, decimal, duration, from_to, length, size, size_both},
};
use std::fmt::Write;

impl Shown<'_> {
    /// The summary of a job that was made; `folder` is where the files are.
    pub fn summary(&self, folder: &str) -> String {
        let mut text = fit(self.job, self.layout);
        cover(&mut text, self.job, self.layout);
        programs(&mut text, self.layout, self.programs, self.job.unit);
        self.quote_lines(&mut text);
        warnings(&mut text, &self.layout.warnings);
        let prefix = self.job.prefix;
        let _ = writeln!(text, "\nSafety: {}\n        {}", notice::SHORT[0], notice::SHORT[1]);
        let _ = writeln!(text, "        The whole notice is in {folder}/{prefix}sheet.html.");
        let _ = writeln!(text, "Written: {folder}/ - open {prefix}preview.html first.");
        text
    }
}

impl Shown<'_> {
    fn quote_lines(&self, text: &mut String) {
        let Some(quote) = self.quote() else { return };
        let _ = writeln!(text, "\nQuote     in {}", quote.currency());
        for line in &quote.lines {
            let _ = writeln!(
                text,
                "  {:<18} {:>16} at {:>8} {:>12}",
                line.what,
                line.says,
                quote.price(line),
                quote.money(quote.comes_to(line))
            );
        }
        let _ = writeln!(text, "  {:<18} {:>41}", "Sum", quote.money(quote.sum()));
        for note in quote.notes() {
            let _ = writeln!(text, "  {note}");
        }
    }

    /// The warnings of the layout, and the notes of the rehearsals with their lines.
    pub fn all_warnings(&self) -> Vec<String> {
        let notes = self.programs.iter().flat_map(|program| {
            let warnings = &program.verified.rehearsal().warnings;
            warnings.iter().map(|w| format!("{}, line {}: {}", program.file, w.line, w.message))
        });
        self.layout.warnings.iter().cloned().chain(notes).collect()
    }
}

/// The buttons and cloth of both hands of a pair, where there are two: they are bought together, and spare buttons
/// serve both. Each hand has a whole list of its own on its sheet.
pub fn both_hands(hands: &[Shown]) -> String {
    let [left, right] = hands else { return String::new() };
    let lists = [left, right].map(|hand| materials(hand.job, hand.layout));
    let apart: f64 = lists.iter().map(|list| list.cloth_m).sum();
    let saves = left.layout.pair.as_ref().map_or(0.0, |pair| pair.saves / 1000.0);
    let cloth = apart - saves;
    let buttons = lists.iter().map(|list| list.buttons).sum();
    let mut text = String::from("\nBoth hands together: ");
    if buttons > 0 {
        let spare = spare_buttons(buttons);
        let _ =
            write!(text, "{} and {spare} to spare, ", count(buttons as usize, "button", "buttons"));
    }
    let _ = writeln!(
        text,
        "{} m of cloth{}. What else to buy is on each hand's sheet.",
        decimal(cloth, 2),
        match saves > 0.0 {
            true => format!(
                ", {} m less than for each by itself: cut both as \"Both hands off one roll\" has it",
                decimal(saves, 2)
            ),
            false => String::new(),
        }
    );
    if let (Some(left), Some(right)) = (left.quote(), right.quote()) {
        let less = left.cloth(saves);
        let sum = left.money(left.total() + right.total() - less);
        let _ = writeln!(
            text,
            "Both quotes together: {sum} {}{}.",
            left.currency(),
            match less > 0.0 {
                true =>
                    format!(", the cloth that both save together, {}, taken off", left.money(less)),
                false => String::new(),
            }
        );
    }
    text
}

/// What `layout` says: the fit found and the nearest other whole fits.
pub fn fits(job: &Job, layout: &Layout, choices: &[Choice]) -> String {
    let mut text = fit(job, layout);
    let least: Vec<String> = rows(layout).iter().map(u32::to_string).collect();
    let from = if layout.fitted.fan.is_some() { "outside" } else { "top" };
    let _ = writeln!(text, "Rows      {} buttons from the {from}", least.join(", "));
    if choices.is_empty() {
        warnings(&mut text, &layout.warnings);
        return text;
    }
    let fan = layout.fitted.fan.is_some();
    let across = if fan { "  rays" } else { "across" };
    let rows = if layout.fitted.kind == PatternKind::Flutes { "ties" } else { "rows" };
    let _ = writeln!(text, "\nWhole fits nearest to what was asked for:");
    let _ = writeln!(
        text,
        "  {across}  {rows:>4}  buttons  {:<18} height:width  edges (sides, top, bottom)",
        "size"
    );
    let flutes = layout.fitted.kind == PatternKind::Flutes;
    let edge = job.pattern.edge.value;
    let edges = [edge.sides, edge.top, edge.bottom].map(|e| length(e, job.unit)).join(", ");
    for choice in choices {
        let f = &choice.fitted;
        let here = if same(f, &layout.fitted) { "*" } else { " " };
        let size = size([f.width, f.height], job.unit);
        let _ = writeln!(
            text,
            "{here} {:>6}  {:>4}  {:>7}  {size:<18} {:>12.2}  {edges}",
            f.across - u32::from(flutes),
            f.rows,
            f.count(),
            f.height / f.width
        );
    }
    let _ = writeln!(
        text,
        "\nTo choose one, write its {} into the pattern{}.",
        match flutes {
            true => "`across`".to_string(),
            false => format!("`{}` and `rows`", across.trim()),
        },
        if flutes || fan { "" } else { ", with fit = \"whole\"" }
    );
    if choices.iter().any(|choice| same(&choice.fitted, &layout.fitted)) {
        let _ = writeln!(text, "* is the fit of this job.");
    }
    if let Some(old) = &layout.surveyed {
        drifts(&mut text, job, old);
    }
    warnings(&mut text, &layout.warnings);
    text
}

/// How far each old button stood from its place in the best grid.
fn drifts(text: &mut String, job: &Job, old: &Surveyed) {
    let _ = writeln!(text, "\nDrift of each old button from the best grid, right and up:");
    for (name, [right, up]) in &old.drift {
        let says = format!("{}, {}", length(*right, job.unit), length(*up, job.unit));
        let _ = writeln!(text, "  {:<6} {says}", name.to_string());
    }
    let _ = writeln!(
        text,
        "positions = \"reproduce\" keeps them; positions = \"true\" puts them on the grid."
    );
}

fn same(a: &layout::Fitted, b: &layout::Fitted) -> bool {
    let near = |x: f64, y: f64| (x - y).abs() < 0.01;
    (a.across, a.rows) == (b.across, b.rows) && near(a.width, b.width) && near(a.height, b.height)
}

fn fit(job: &Job, layout: &Layout) -> String {
    let mut text = String::new();
    let pieces =
        if job.quantity == 1 { String::new() } else { format!(", {} of them", job.quantity) };
    let _ = writeln!(text, "{}{pieces}", job.title);
    let _ = writeln!(
        text,
        "Panel     {}",
        size_both([layout.outline.width(), layout.outline.height()], job.unit)
    );
    let _ = writeln!(text, "Fit       {}", fit_in_words(job, layout));
    let _ = writeln!(
        text,
        "Edge      nearest {} {} from the edge",
        if layout.fitted.kind == PatternKind::Flutes { "tie" } else { "button" },
        length(layout.nearest_edge, job.unit)
    );
    if let Some(old) = &layout.surveyed {
        let (name, by) = old.worst();
        let _ = writeln!(
            text,
            "Survey    buttons drift by {} from the best grid (root mean square), most {name} by {}; \
             the grid is turned {:.2} degrees",
            length(old.rms(), job.unit),
            length(by, job.unit),
            old.turned
        );
    }
    if let Top::Following { .. } = job.pattern.top {
        let _ = writeln!(
            text,
            "Top       follows the outline; pleats turn at most {:.1} degrees from a straight grid",
            layout.turned
        );
    }
    text
}

fn fit_in_words(job: &Job, layout: &Layout) -> String {
    let fitted = &layout.fitted;
    let buttons = count(layout.buttons.len(), "button", "buttons");
    let rows = count(rows(layout).len(), "row", "rows");
    let size = size_both([fitted.width, fitted.height], job.unit);
    match (fitted.kind, &fitted.fan) {
        (PatternKind::Flutes, _) => format!(
            "{} {} wide, each groove tied down in {}",
            count(fitted.across as usize - 1, "flute", "flutes"),
            both(fitted.width, job.unit),
            count(fitted.rows as usize, "place", "places")
        ),
        (PatternKind::Single, _) => format!(
            "{buttons} at places of their own, {} from neighbour to neighbour on the whole",
            both(fitted.width, job.unit)
        ),
        (_, Some(rays)) if rays.all_round => format!(
            "{buttons} all the way round: {} of {}{}, rays {:.2} degrees apart, rows {} apart; diamond {size} half-way out",
            count(fitted.rows as usize, "row", "rows"),
            fitted.across,
            if layout.has_centre_button() { " and one at the centre" } else { "" },
            rays.column.to_degrees() / 2.0,
            both(rays.gap, job.unit)
        ),
        (_, Some(rays)) => format!(
            "fan of {buttons} in {rows} round one place, rays {:.2} degrees apart, rows {} apart; diamond {size} half-way out",
            rays.column.to_degrees() / 2.0,
            both(rays.gap, job.unit)
        ),
        _ => format!(
            "{} {size}, {buttons} in {rows}, {:.2} times as high as wide",
            layout::shape_word(fitted.kind),
            fitted.height / fitted.width
        ),
    }
}

/// The fit in two lines and, where it is small enough for the screen, a sketch.
pub fn fit_in_short(job: &Job, layout: &Layout) -> String {
    let fitted = &layout.fitted;
    let mut text = sketch(layout);
    let _ = writeln!(
        text,
        "  {} in {}: {} {}, nearest button {} from the edge",
        count(layout.buttons.len(), "button", "buttons"),
        count(rows(layout).len(), "row", "rows"),
        layout::shape_word(fitted.kind),
        size_both([fitted.width, fitted.height], job.unit),
        length(layout.nearest_edge, job.unit),
    );
    text
}

/// The buttons as they hang, in letters: `o` a button, with the pleats between them. Empty if it would not
/// fit a screen.
fn sketch(layout: &Layout) -> String {
    const WIDEST: usize = 76;
    const HIGHEST: usize = 21;
    if layout.fitted.kind == PatternKind::Single || layout.fitted.all_round().is_some() {
        return String::new();
    }
    let places = layout.buttons.iter().map(|button| button.lattice);
    let (left, top) = (
        places.clone().map(|[x, _]| x).min().unwrap_or(0),
        places.clone().map(|[_, y]| y).max().unwrap_or(0),
    );
    // Two signs for each half column, a line for each half row gap.
    let cell = |[x, y]: [i32; 2]| [2 + 2 * (x - left) as usize, (top - y) as usize];
    let cells: Vec<[usize; 2]> = places.map(cell).collect();
    let width = cells.iter().map(|[x, _]| x + 1).max().unwrap_or(0);
    let height = cells.iter().map(|[_, y]| y + 1).max().unwrap_or(0);
    if width > WIDEST || height > HIGHEST {
        return String::new();
    }
    let mut lines = vec![vec![' '; width]; height];
    for &[x, y] in &cells {
        lines[y][x] = 'o';
    }
    if layout.fitted.kind == PatternKind::Diamond {
        for &[x, y] in &cells {
            if cells.contains(&[x + 2, y + 2]) {
                lines[y + 1][x + 1] = '\\';
            }
            if x >= 2 && cells.contains(&[x - 2, y + 2]) {
                lines[y + 1][x - 1] = '/';
            }
        }
    }
    let lines = lines.into_iter().map(|line| line.into_iter().collect::<String>() + "\n");
    lines.map(|line| line.trim_end().to_string() + "\n").collect()
}

/// Buttons in each row that has any.
fn rows(layout: &Layout) -> Vec<u32> {
    let mut rows: Vec<(u32, u32)> = Vec::new();
    for button in &layout.buttons {
        match rows.last_mut() {
            Some((row, n)) if *row == button.name.row() => *n += 1,
            _ => rows.push((button.name.row(), 1)),
        }
    }
    rows.into_iter().map(|(_, n)| n).collect()
}

fn cover(text: &mut String, job: &Job, layout: &Layout) {
    let cover = &layout.cover;
    let _ = writeln!(
        text,
        "Cover     marked {}, cut {}",
        size(cover.marked, job.unit),
        size_both(cover.cut, job.unit)
    );
    let flutes = layout.fitted.kind == PatternKind::Flutes;
    for (way, i) in [("across", 0), ("down", 1)].into_iter().take(if flutes { 1 } else { 2 }) {
        let bounds = cover.bounds[i];
        let _ = writeln!(
            text,
            "          allowance {way} {} (needs {} to reach, {} is all that fits)",
            from_to(cover.ends[i], |mm| length(mm, job.unit)),
            length(bounds.least, job.unit),
            length(bounds.most, job.unit)
        );
    }
    let [across, down, pleat] = cover.reach.map(|depth| length(depth, job.unit));
    let sits = length(cover.depth, job.unit);
    let _ = match flutes {
        true => writeln!(
            text,
            "          so marked it reaches {across} deep; the groove is tied {sits} down"
        ),
        false => writeln!(
            text,
            "          so marked it reaches {across} deep across, {down} down, {pleat} along a pleat; the button sits {sits}"
        ),
    };
    let ([radius, seat], hole) = cover.methods.hole;
    let _ = writeln!(
        text,
        "          other ways to find it: depth x {} gives {}; hole {} wide, seat {} down, gives {}",
        decimal(cover.methods.depth.0, 2),
        length(cover.methods.depth.1, job.unit),
        length(2.0 * radius, job.unit),
        length(seat, job.unit),
        length(hole, job.unit)
    );
    if let Some(worst) = cover.strained.first() {
        let _ = writeln!(
            text,
            "          rows differ: {} between neighbours, most {:.2} % from {} to {}",
            count(cover.strained.len(), "strain", "strains"),
            worst.per_cent().abs(),
            worst.from,
            worst.to
        );
    }
    roll(text, job, layout);
}

/// How the cover is joined and what it takes off the roll.
fn roll(text: &mut String, job: &Job, layout: &Layout) {
    let cover = &layout.cover;
    let roll = &cover.roll;
    if cover.pieces.len() > 1 {
        let pieces: Vec<String> = cover
            .pieces
            .iter()
            .map(|piece| {
                format!("{} {}", piece_letter(piece.part.number), size(piece.cut, job.unit))
            })
            .collect();
        let _ = writeln!(
            text,
            "Pieces    {} joined under the pleats, seam {}: {}",
            cover.pieces.len(),
            length(job.fabric.seam.value, job.unit),
            pieces.join(", ")
        );
    }
    let over = (roll.length / roll.least - 1.0) * 100.0;
    let _ = writeln!(
        text,
        "Cloth     {:.2} m off a roll {} wide, {}{}",
        roll.takes() / 1000.0,
        length(roll.width, job.unit),
        if over < 0.005 {
            "which no plan of whole lengths betters".to_string()
        } else {
            format!("at most {over:.1} % over the least possible")
        },
        match roll.without_repeat {
            Some(plain) => {
                format!("; the repeat costs {:.2} m of it", (roll.length - plain) / 1000.0)
            }
            None => String::new(),
        }
    );
    if let Some(first) = roll.first_cut {
        let _ = writeln!(
            text,
            "          first cut {} before the middle of a motif: buy {:.2} m, to be sure to reach one",
            length(first, job.unit),
            roll.to_buy() / 1000.0
        );
    }
    if let Some(sideways) = cover.sideways {
        let _ = writeln!(
            text,
            "          turned sideways it would take {:.2} m: write turned = \"sideways\" in [fabric]",
            sideways / 1000.0
        );
    }
}

fn programs(text: &mut String, layout: &Layout, programs: &[Program], unit: Unit) {
    for program in programs {
        let rehearsal = program.verified.rehearsal();
        let setup = &program.plan.setup;
        let places = match program.plan.work {
            Work::Fabric if setup.of > 1 => {
                let strokes = program.verified.rehearsal().strokes as usize;
                count(strokes, "pen line", "pen lines")
            }
            Work::Fabric => {
                let piece = &layout.cover.pieces[program.plan.part.number as usize - 1];
                count(piece.marks.len(), "mark", "marks")
            }
            Work::Board => {
                let holes = count(program.plan.holes(), "hole", "holes");
                match program.plan.cuts() {
                    0 => holes,
                    cuts => format!("{holes} and {}", count(cuts, "cut", "cuts")),
                }
            }
            _ if setup.of == 1 => count(layout.buttons.len(), "hole", "holes"),
            _ => count(program.plan.holes(), "hole", "holes"),
        };
        let which = match setup.of {
            1 => "1 set-up".to_string(),
            of => format!("set-up {} of {of}", setup.number),
        };
        let travel = program.plan.travel;
        let _ = writeln!(
            text,
            "{:<9} {places} on {}, {which}, {}, travel {:.1} m, at most {:.2} % over the least possible, no faults",
            program.file,
            program.machine.name,
            duration(rehearsal.time.total()),
            travel.mm / 1000.0,
            travel.over_bound()
        );
        for warning in &rehearsal.warnings {
            let _ = writeln!(text, "  Note, line {}: {}", warning.line, warning.message);
        }
        let same_work = programs.iter().filter(|other| other.plan.work == program.plan.work);
        let worst = same_work
            .filter_map(|other| other.plan.setup.worst)
            .max_by(|(_, a), (_, b)| a.total_cmp(b));
        if let (Some((thing, off)), true) = (worst, setup.number == setup.of) {
            let _ = writeln!(
                text,
                "  Play of the dowels: nothing is farther off than {thing}, by {} at most.",
                length(off, unit)
            );
        }
        if setup.number == setup.of && !setup.fewest.is_empty() {
            let _ = writeln!(text, "  {}", setup.fewest);
        }
    }
}

fn warnings(text: &mut String, warnings: &[String]) {
    if !warnings.is_empty() {
        text.push('\n');
    }
    for warning in warnings {
        let _ = writeln!(text, "Warning: {warning}");
    }
}
