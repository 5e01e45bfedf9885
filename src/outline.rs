//! The panel's outline: a closed path, and how near its edge a place is.

use crate::frame::{PanelFront, Point};
use kurbo::{BezPath, ParamCurveNearest, Rect, Shape as _};

/// How exactly a curved edge is measured, mm.
const NEAREST_WITHIN: f64 = 1e-6;

/// A closed outline in the panel's front frame; its bounding box is centred on the origin.
#[derive(Debug, Clone)]
pub struct Outline {
    path: BezPath,
    bounds: Rect,
}

impl Outline {
    pub fn rectangle(width: f64, height: f64) -> Self {
        let bounds = Rect::new(-width / 2.0, -height / 2.0, width / 2.0, height / 2.0);
        Outline { path: bounds.to_path(NEAREST_WITHIN), bounds }
    }

    pub fn width(&self) -> f64 {
        self.bounds.width()
    }

    pub fn height(&self) -> f64 {
        self.bounds.height()
    }

    pub fn path(&self) -> &BezPath {
        &self.path
    }

    /// How far inside the outline a place is, mm; negative outside.
    pub fn depth(&self, place: Point<PanelFront>) -> f64 {
        let place = kurbo::Point::new(place.x, place.y);
        let squares =
            self.path.segments().map(|edge| edge.nearest(place, NEAREST_WITHIN).distance_sq);
        let distance = squares.fold(f64::INFINITY, f64::min).sqrt();
        if self.path.contains(place) { distance } else { -distance }
    }
}
