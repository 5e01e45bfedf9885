//! Strokes that must come first or last: registration first, the outline last.

use super::net::Net;
use super::strokes::{
    Shape, Stroke, StrokeOrder, lifts, move_cost, moves, order_strokes, run_ends,
};
use super::{Cost, Effort, Ends, Place, Unorderable, distance};

/// Like [`order_strokes`] from and to `park`, but every stroke of a lower rank comes before all of a
/// higher one. `ranks` holds the rank of every stroke.
///
/// Each rank is ordered by itself, from where the pen came up last. The bound is that of the strokes
/// without ranks, which no order with ranks can be below; or, where all later ranks are loops, that of
/// the first rank alone: a loop is left where it was entered, so leaving it out shortens any order.
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
    if ranks.is_sorted_by(|a, b| a == b) {
        return order_strokes(strokes, ends, cost, lift, effort, progress);
    }
    let mut in_order: Vec<u32> = ranks.to_vec();
    in_order.sort_unstable();
    in_order.dedup();
    let mut runs = Vec::with_capacity(strokes.len());
    let mut from = park;
    let first = in_order[0];
    let later_are_loops = strokes
        .iter()
        .zip(ranks)
        .all(|(stroke, &rank)| rank == first || stroke.shape == Shape::Loop);
    let mut bound = match later_are_loops {
        true => 0.0,
        false => order_strokes(strokes, ends, cost, lift, Effort::Quick, &mut |_| {})?.bound,
    };
    for &rank in &in_order {
        let members: Vec<usize> = (0..strokes.len()).filter(|&i| ranks[i] == rank).collect();
        let part: Vec<Stroke> = members.iter().map(|&i| strokes[i].clone()).collect();
        let order = order_strokes(&part, Ends::Park(from), cost, lift, effort, progress)?;
        if rank == first && later_are_loops {
            bound = bound.max(order.bound);
        }
        for mut run in order.runs {
            run.stroke = members[run.stroke];
            from = run_ends(strokes, &run)[1];
            runs.push(run);
        }
    }
    let ways = moves(strokes, &runs, ends);
    let all: Vec<Place> =
        strokes.iter().flat_map(|s| s.points.iter().copied()).chain([park]).collect();
    let mut net = Net::new(&all, &cost)?;
    net.set_lift(lift);
    let length: i64 = ways.iter().map(|way| move_cost(&net, way[0], way[1])).sum();
    Ok(StrokeOrder {
        lifts: lifts(&ways, ends, runs.len()),
        cost: length as f64 / net.scale,
        bound: bound.min(length as f64 / net.scale),
        travel: ways.iter().map(|way| distance(way[0], way[1])).sum(),
        runs,
    })
}
