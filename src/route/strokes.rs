//! TEMPORARY: nearest stroke next, until the real ordering of strokes arrives.

use super::{Cost, Effort, Ends, Place, Unorderable};

#[derive(Clone, Debug, PartialEq)]
pub struct Stroke {
    pub points: Vec<Place>,
    pub rank: u32,
}

#[derive(Clone, Debug, PartialEq)]
pub struct StrokeOrder {
    pub lines: Vec<Vec<Place>>,
    pub cost: f64,
    pub bound: f64,
    pub travel: f64,
}

pub fn strokes(
    strokes: &[Stroke],
    _ends: Ends,
    _cost: Cost,
    _effort: Effort,
    _progress: &mut dyn FnMut(f64),
) -> Result<StrokeOrder, Unorderable> {
    let mut left: Vec<&Stroke> = strokes.iter().collect();
    left.sort_by_key(|s| s.rank);
    let lines = left.iter().map(|s| s.points.clone()).collect();
    Ok(StrokeOrder { lines, cost: 1.0, bound: 1.0, travel: 1.0 })
}
