//! How much longer the cover is than the panel: what the job gives, what it reaches, and what the other
//! ways of finding it would have said.

use crate::{
    diag::Diagnostic,
    job::{Allowance, Job, PatternKind},
    layout::Fitted,
};

/// The least allowance that still reaches the button seat and the most that upright hole walls could
/// use, for a pitch P and pull-down depth d: 2·sqrt((P/2)² + d²) - P, and 2·d. Derived: the cover
/// runs straight from crown to seat at the least, down an upright wall at the most.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    pub least: f64,
    pub most: f64,
}

impl Bounds {
    /// Where nothing is pulled down.
    pub const NONE: Bounds = Bounds { least: 0.0, most: 0.0 };

    pub fn of(pitch: f64, depth: f64) -> Self {
        let half = pitch / 2.0;
        Bounds { least: 2.0 * (half * half + depth * depth).sqrt() - pitch, most: 2.0 * depth }
    }
}

/// How deep a cover marked `marked` apart over a pitch P can be pulled down, straight from crown to seat:
/// sqrt((marked/2)² - (P/2)²). Derived; the least bound turned round.
pub fn reach(pitch: f64, marked: f64) -> f64 {
    let [half, cloth] = [pitch / 2.0, marked / 2.0];
    (cloth * cloth - half * half).max(0.0).sqrt()
}

/// The allowance for a hole of radius r whose button sits p below its rim, straight to the rim and flat
/// across: 2·(sqrt(r² + p²) - r). Derived.
pub fn hole_allowance(radius: f64, seat: f64) -> f64 {
    2.0 * ((radius * radius + seat * seat).sqrt() - radius)
}

/// How deep a button pulls the cover down: foam - leave + wadding.
pub fn pull_down(job: &Job) -> f64 {
    job.foam.thickness - job.foam.leave.value + job.wadding
}

/// What each way of finding the allowance gives for one panel, across and down, so that a person sees
/// how far they differ.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Methods {
    /// As the tape had it, where it was used.
    pub measured: Option<[f64; 2]>,
    /// The factor (1 unless given) and what it makes of the depth.
    pub depth: (f64, f64),
    /// Radius and seat (the whole depth unless given), and what they make.
    pub hole: ([f64; 2], f64),
}

pub fn methods(job: &Job) -> Methods {
    let depth = pull_down(job);
    let mut methods = Methods {
        measured: None,
        depth: (1.0, depth),
        hole: (
            [job.foam.hole.value / 2.0, depth],
            hole_allowance(job.foam.hole.value / 2.0, depth),
        ),
    };
    match &job.fabric.allowance {
        Allowance::Measured { across, down } => {
            methods.measured = Some([mean(&across.value), mean(&down.value)]);
        }
        Allowance::Depth { factor } => methods.depth = (factor.value, factor.value * depth),
        Allowance::Hole { radius, seat } => {
            methods.hole = ([*radius, seat.value], hole_allowance(*radius, seat.value));
        }
    }
    methods
}

/// The allowance per full diamond: across for each row, down for each gap between rows, from the top.
#[derive(Debug, Clone, PartialEq)]
pub struct PerRow {
    pub across: Vec<f64>,
    pub down: Vec<f64>,
}

impl PerRow {
    /// The figure that stands for all, where one does; else their mean. A single row has no gap and no figure down.
    pub fn figures(&self) -> [f64; 2] {
        [mean(&self.across), mean(&self.down)]
    }

    /// The least and the most, across and down.
    pub fn ends(&self) -> [[f64; 2]; 2] {
        [&self.across, &self.down].map(|figures| {
            let least = figures.iter().copied().reduce(f64::min).unwrap_or(0.0);
            [least, figures.iter().copied().fold(least, f64::max)]
        })
    }

    /// What the rows of a fan that goes all the way round get across. The innermost gets the allowance A. Cloth that is
    /// longer by s on a ray than the panel is by s·c longer from ray to ray, where c = 2·sin(half a column), so the
    /// innermost row is moved outwards by A/c, and every further row by half the allowance down of each gap inside it.
    /// Derived.
    fn closed(mut self, fitted: &Fitted) -> PerRow {
        if let Some(rays) = fitted.all_round() {
            for row in (0..self.down.len()).rev() {
                let gap = gap_share(fitted.kind) * self.down[row];
                self.across[row] = self.across[row + 1] + gap * rays.chord();
            }
        }
        self
    }
}

fn mean(figures: &[f64]) -> f64 {
    let same = figures.iter().all(|figure| *figure == figures[0]);
    if figures.is_empty() {
        0.0
    } else if same {
        figures[0]
    } else {
        figures.iter().sum::<f64>() / figures.len() as f64
    }
}

/// Across and down as one figure each, before any row is known.
pub fn overall(job: &Job) -> [f64; 2] {
    let depth = pull_down(job);
    match &job.fabric.allowance {
        Allowance::Measured { across, down } => [mean(&across.value), mean(&down.value)],
        Allowance::Depth { factor } => [factor.value * depth; 2],
        Allowance::Hole { radius, seat } => [hole_allowance(*radius, seat.value); 2],
    }
}

/// The allowance for `rows` rows. A list of another length is refused, and so is an allowance from a
/// formula that cannot reach; a tape that says less is only warned of, for it knows more than the
/// formula.
pub fn per_row(job: &Job, fitted: &Fitted, bounds: [Bounds; 2]) -> Result<PerRow, Vec<Diagnostic>> {
    let (kind, rows) = (fitted.kind, fitted.rows as usize);
    let flutes = kind == PatternKind::Flutes;
    // Buttons at places of their own are one row, with one figure each way.
    let gaps = match kind {
        PatternKind::Single => 1,
        _ => rows.saturating_sub(1),
    };
    let all = |[across, down]: [f64; 2]| PerRow {
        across: vec![across; rows],
        down: vec![if flutes { 0.0 } else { down }; gaps],
    };
    let depth = pull_down(job);
    let least = bounds[0].least.max(bounds[1].least);
    let [found, _] = overall(job);
    let (narrow, wider) = match fitted.fan {
        Some(_) => (
            format!(
                " in the innermost row, whose buttons stand {:.1} mm apart",
                fitted.narrowest()
            ),
            "; or take fewer rays or a larger `inner`",
        ),
        None => (String::new(), ""),
    };
    let short = |span: &std::ops::Range<usize>| {
        Diagnostic::at(
            span.clone(),
            format!(
                "an allowance of {found:.1} mm would not reach the button seat, {depth:.1} mm down{narrow}: it takes {least:.1} mm"
            ),
        )
    };
    match &job.fabric.allowance {
        Allowance::Measured { across, down } => {
            let first = if fitted.fan.is_some() { "outside" } else { "top" };
            let mut wrong = Vec::new();
            if flutes && down.value.iter().any(|down| *down != 0.0) {
                wrong.push(
                    Diagnostic::at(
                        down.span.clone(),
                        "down the grooves of flutes the cloth lies as long as the panel",
                    )
                    .help("write down = 0"),
                );
            }
            let wants = [
                (across, rows, "across", "one for each row"),
                (down, gaps, "down", "one for each gap between rows"),
            ];
            for (given, wanted, key, each) in wants {
                let n = given.value.len();
                if n != 1 && n != wanted {
                    wrong.push(
                        Diagnostic::at(
                            given.span.clone(),
                            format!("`{key}` lists {n} figures, and the panel has {rows} rows"),
                        )
                        .help(format!(
                            "write one figure for all, or {wanted}, {each}, from the {first}"
                        )),
                    );
                }
            }
            if fitted.all_round().is_some() && across.value.len() > 1 {
                wrong.push(
                    Diagnostic::at(
                        across.span.clone(),
                        "all the way round rows cannot each have an allowance of their own across: the cloth goes round once",
                    )
                    .help("write one figure, which the innermost row gets"),
                );
            }
            if !wrong.is_empty() {
                return Err(wrong);
            }
            let mut figures = all([across.value[0], down.value[0]]);
            if across.value.len() > 1 {
                figures.across.clone_from(&across.value);
            }
            if down.value.len() > 1 {
                figures.down.clone_from(&down.value);
            }
            Ok(figures.closed(fitted))
        }
        Allowance::Depth { factor } if found < least => {
            let enough = (least / depth * 100.0).ceil() / 100.0;
            Err(vec![short(&factor.span).help(format!(
                "write factor = {enough} or more, or measure it with a tape in a hole{wider}"
            ))])
        }
        Allowance::Hole { seat, .. } if found < least => Err(vec![
            short(&seat.span)
                .help("measure how far below the rim the button sits, or use a tape in a hole"),
        ]),
        _ => Ok(all([found; 2]).closed(fitted)),
    }
}

/// What a step down by one row is of a full diamond.
pub fn gap_share(kind: PatternKind) -> f64 {
    match kind {
        PatternKind::Diamond => 0.5,
        PatternKind::Square | PatternKind::Flutes | PatternKind::Single => 1.0,
    }
}
