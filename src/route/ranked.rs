//! Strokes that must come first or last: registration first, the outline last.

use super::strokes::{Run, Shape, Stroke, StrokeOrder, Task, order_strokes, run_ends};
use super::{Cost, Effort, Ends, Place, Unorderable};

/// Like [`order_strokes`] from and to `park`, but every stroke of a lower rank comes before all of a
/// higher one. `ranks` holds the rank of every stroke.
///
/// A lone loop of the last rank is ordered along with all others, as one that stands beside park.
/// Otherwise each rank is ordered by itself, from where the pen came up last, and the bound is that
/// of the strokes without ranks, which no order with ranks can be below.
///
/// # Errors
/// As [`order_strokes`].
///
/// # Panics
/// If there are not as many ranks as strokes.
pub fn order_strokes_by_rank(
    strokes: &[Stroke],
    ranks: &[u32],
    park: Place,
    cost: Cost,
    lift: f64,
    effort: Effort,
    progress: &mut dyn FnMut(f64),
) -> Result<StrokeOrder, Unorderable> {
    assert_eq!(ranks.len(), strokes.len(), "every stroke has a rank");
    let ends = Ends::Park(park);
    let mut in_order: Vec<u32> = ranks.to_vec();
    in_order.sort_unstable();
    in_order.dedup();
    let last = last_loop(strokes, ranks, &in_order);
    let task = Task::new(strokes, last, ends, cost, lift)?;
    if in_order.len() < 2 || last.is_some() {
        return Ok(task.order(effort, progress));
    }
    let mut runs = Vec::with_capacity(strokes.len());
    let mut from = park;
    for &rank in &in_order {
        let members: Vec<usize> = (0..strokes.len()).filter(|&i| ranks[i] == rank).collect();
        let part: Vec<Stroke> = members.iter().map(|&i| strokes[i].clone()).collect();
        let order = order_strokes(&part, Ends::Park(from), cost, lift, effort, &mut |_| {})?;
        for mut run in order.runs {
            run.stroke = members[run.stroke];
            from = run_ends(strokes, &run)[1];
            runs.push(run);
        }
    }
    let least = task.least(task.length(&runs), effort);
    progress(1.0);
    Ok(task.told(runs, least))
}

/// What no order of `strokes` with these ranks can be below, in s or mm. `runs` is an order of them,
/// perhaps made for another cost.
///
/// # Errors
/// As [`order_strokes`].
pub fn bound_strokes_by_rank(
    strokes: &[Stroke],
    ranks: &[u32],
    park: Place,
    cost: Cost,
    lift: f64,
    effort: Effort,
    runs: &[Run],
) -> Result<f64, Unorderable> {
    let mut in_order: Vec<u32> = ranks.to_vec();
    in_order.sort_unstable();
    in_order.dedup();
    let last = last_loop(strokes, ranks, &in_order);
    let task = Task::new(strokes, last, Ends::Park(park), cost, lift)?;
    Ok(task.least(task.length(runs), effort) as f64 / task.bare.scale)
}

/// The one stroke of the second of two ranks, if it is a loop.
fn last_loop(strokes: &[Stroke], ranks: &[u32], in_order: &[u32]) -> Option<usize> {
    let &[_, last] = in_order else { return None };
    let mut members = (0..strokes.len()).filter(|&i| ranks[i] == last);
    match (members.next(), members.next()) {
        (Some(only), None) if strokes[only].shape == Shape::Loop => Some(only),
        _ => None,
    }
}
