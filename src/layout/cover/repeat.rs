//! Cloth with a pattern that repeats: the marked diamond divides the repeat, W_f = repeat/m (derived), so that
//! every row shows what the row two above it shows. Staggered rows between them show the repeat half a
//! diamond aside and down: the same only where the cloth's own motifs are staggered so.

use super::{Whole, allowance, joins::Cut, to_back};
use crate::{
    diag::{Diagnostic, Given},
    frame::{CoverFront, Point},
    job::{Axis, Fit, Job, Motif, Pattern, PatternKind, Repeat},
    layout::{Button, Fitted, Name},
};

/// No diamond farther than this from the one asked for is offered as the same, of its size.
const WITHIN: f64 = 0.2;
/// A whole fit this near a division of the repeat is one, mm.
const CLOSE: f64 = 0.25;

/// The pattern to fit: with a repeat and an exact fit, the diamond nearest to the one asked for whose marked
/// size divides the repeat. A repeat that no diamond within 20 % matches is refused.
pub fn matched(job: &Job) -> Result<Pattern, Vec<Diagnostic>> {
    let mut pattern = job.pattern.clone();
    let Some(repeat) = &job.fabric.repeat else { return Ok(pattern) };
    if pattern.fit == Fit::Whole {
        return Ok(pattern);
    }
    let mut wrong = Vec::new();
    let allowed = allowance::overall(job);
    let repeats = repeat.on_panel(job.fabric.turned.value);
    for (i, (repeat, word)) in repeats.into_iter().zip(["wide", "high"]).enumerate() {
        let axis = if i == 0 { &mut pattern.across } else { &mut pattern.down };
        let asked = axis.size.as_ref().expect("an exact fit has a size").value;
        let sizes = divisions(job, i, repeat.value, allowed[i]);
        let nearest =
            sizes.iter().copied().min_by(|a, b| (a - asked).abs().total_cmp(&(b - asked).abs()));
        match nearest.filter(|size| (size / asked - 1.0).abs() <= WITHIN) {
            Some(size) => set(axis, size),
            None => wrong.push(no_match(repeat, asked, word, &sizes)),
        }
    }
    if wrong.is_empty() { Ok(pattern) } else { Err(wrong) }
}

fn set(axis: &mut Axis, size: f64) {
    let span = axis.size.as_ref().expect("an exact fit has a size").span.clone();
    axis.size = Some(Given { value: size, span });
}

/// Sizes of diamond whose marked size divides the repeat, the largest first.
fn divisions(job: &Job, axis: usize, repeat: f64, allowance: f64) -> Vec<f64> {
    let stretched = 1.0 + job.fabric.stretch[axis] / 100.0;
    let sizes = (1..=20).map(|m| repeat / f64::from(m) * stretched - allowance);
    sizes.take_while(|size| *size > 0.0).collect()
}

fn no_match(repeat: &Given<f64>, asked: f64, word: &str, sizes: &[f64]) -> Diagnostic {
    let near: Vec<String> = sizes.iter().take(4).map(|size| format!("{size:.1} mm")).collect();
    let help = if near.is_empty() {
        "the repeat is smaller than the allowance; leave `repeat` out and let the pattern run"
            .to_string()
    } else {
        format!("diamonds that match are {} {word}", near.join(", "))
    };
    Diagnostic::at(
        repeat.span.clone(),
        format!(
            "no diamond within 20 % of {asked:.1} mm {word} matches a repeat of {:.1} mm",
            repeat.value
        ),
    )
    .help(help)
}

/// A fan follows no repeat. A whole fit takes its diamond from the panel; with a repeat it is refused unless it happens to match.
pub fn refuse_unmatched(job: &Job, fitted: &Fitted) -> Result<(), Vec<Diagnostic>> {
    let Some(repeat) = &job.fabric.repeat else { return Ok(()) };
    if fitted.fan.is_some() {
        return Err(vec![
            Diagnostic::at(
                repeat.down.span.clone(),
                "the rays of a fan turn and a repeat does not, so its buttons cannot all stand alike on the motif",
            )
            .help("leave `repeat` out, and lay a motif under the middle by eye"),
        ]);
    }
    let allowed = allowance::overall(job);
    let mut wrong = Vec::new();
    let [across, down] = repeat.on_panel(job.fabric.turned.value);
    let axes = [(across, fitted.width, "width"), (down, fitted.height, "height")];
    for (i, (repeat, size, key)) in axes.into_iter().enumerate() {
        let sizes = divisions(job, i, repeat.value, allowed[i]);
        if sizes.iter().any(|division| (division - size).abs() <= CLOSE) {
            continue;
        }
        let mut near = sizes.clone();
        near.sort_by(|a, b| (a - size).abs().total_cmp(&(b - size).abs()));
        let near: Vec<String> = near.iter().take(2).map(|size| format!("{size:.1} mm")).collect();
        wrong.push(
            Diagnostic::at(
                repeat.span.clone(),
                format!(
                    "the whole fit makes the {key} {size:.1} mm, and marked on the cloth that does not divide a repeat of {:.1} mm",
                    repeat.value
                ),
            )
            .help(format!(
                "write fit = \"exact\", so that the cloth decides the diamond; {key}s that match: {}",
                near.join(", ")
            )),
        );
    }
    if wrong.is_empty() { Ok(()) } else { Err(wrong) }
}

/// Where a motif's middle is to lie on a piece, in its own sheet frame: the diamond or button nearest to the
/// middle of the cover, the same for all pieces.
pub fn motif(job: &Job, fitted: &Fitted, whole: &Whole, cut: &Cut) -> Option<[f64; 2]> {
    let repeat = job.fabric.repeat.as_ref()?;
    let nearest = whole
        .at
        .iter()
        .copied()
        .min_by(|a, b| (a.x * a.x + a.y * a.y).total_cmp(&(b.x * b.x + b.y * b.y)))
        .expect("a cover has buttons");
    let [w, h] = whole.marked;
    // From a button to the middle of the cell at its right.
    let aside = match (repeat.motif, fitted.kind) {
        (Motif::Button, _) => [0.0, 0.0],
        (Motif::Diamond, PatternKind::Diamond) => [w / 2.0, 0.0],
        (Motif::Diamond, _) => [w / 2.0, -h / 2.0],
    };
    let middle = Point::<CoverFront>::new(nearest.x + aside[0], nearest.y + aside[1]);
    let p = to_back(job, cut).apply(middle);
    Some([p.x, p.y])
}

/// How far the buttons of uneven work drift off the places that a repeat has for them, counted from the button
/// nearest to the middle: the worst button, and how far across and down it is off, mm. Only where the cloth
/// repeats.
pub fn drift(job: &Job, fitted: &Fitted, buttons: &[Button], whole: &Whole) -> Option<Drift> {
    let regular = fitted.kind != PatternKind::Single && fitted.fan.is_none();
    job.fabric.repeat.as_ref().filter(|_| regular)?;
    let [w, h] = whole.marked;
    let row = match fitted.kind {
        PatternKind::Diamond => h / 2.0,
        _ => h,
    };
    let (first, at) = buttons.iter().zip(&whole.at).min_by(|a, b| {
        (a.1.x * a.1.x + a.1.y * a.1.y).total_cmp(&(b.1.x * b.1.x + b.1.y * b.1.y))
    })?;
    let off = |button: &Button, p: &Point<CoverFront>| {
        let [column, up] = [0, 1].map(|i| f64::from(button.lattice[i] - first.lattice[i]));
        [p.x - at.x - column * w / 2.0, p.y - at.y - up * row / 2.0]
    };
    let far = |off: [f64; 2]| off[0].abs().max(off[1].abs());
    let drifts = buttons.iter().zip(&whole.at).map(|(b, p)| Drift { name: b.name, by: off(b, p) });
    drifts.max_by(|a, b| far(a.by).total_cmp(&far(b.by))).filter(|worst| far(worst.by) > CLOSE)
}

/// A button that does not lie where the repeat has its place.
#[derive(Debug, Clone, Copy)]
pub struct Drift {
    pub name: Name,
    pub by: [f64; 2],
}

/// The first place at or after `x` across the roll where a piece's motif lies on one of the cloth's.
pub fn next_place(repeat: &Repeat, motif: [f64; 2], x: f64) -> f64 {
    let (across, first) = (repeat.across.value, repeat.from_edge);
    ((x + motif[0] - first) / across - 1e-9).ceil() * across + first - motif[0]
}
