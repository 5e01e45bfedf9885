//! Points and maps that know which frame they stand in.
//!
//! All frames are right-handed, X right, Y up, millimetres. A frame is an empty type, so a point of
//! the board cannot be handed to something that wants a point of the cover. **Turning a sheet over
//! exists once**, in [`Map::turn_over`].

use std::{fmt, marker::PhantomData};

/// What a frame is called in messages and debug output.
pub trait Frame {
    const NAME: &'static str;
}

macro_rules! frames {
    ($($(#[$doc:meta])* $frame:ident = $name:literal;)*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq)]
        pub enum $frame {}
        impl Frame for $frame {
            const NAME: &'static str = $name;
        }
    )*};
}

frames! {
    /// The panel as it hangs, seen from the front; origin at the centre of the outline's bounding box.
    PanelFront = "panel front";
    /// The cover spread flat, right side up; origin where the panel's upright centre line and the
    /// middle of the button field meet.
    CoverFront = "cover front";
    /// A sheet as it lies on the machine; origin at the lower left corner of its bounding box.
    Sheet = "sheet";
}

/// A place in frame `F`, millimetres.
pub struct Point<F> {
    pub x: f64,
    pub y: f64,
    frame: PhantomData<F>,
}

impl<F> Point<F> {
    pub const fn new(x: f64, y: f64) -> Self {
        Point { x, y, frame: PhantomData }
    }

    /// Straight distance to `other`.
    pub fn distance(self, other: Self) -> f64 {
        let [x, y] = [self.x - other.x, self.y - other.y];
        (x * x + y * y).sqrt()
    }
}

impl<F> Clone for Point<F> {
    fn clone(&self) -> Self {
        *self
    }
}
impl<F> Copy for Point<F> {}
impl<F> PartialEq for Point<F> {
    fn eq(&self, other: &Self) -> bool {
        self.x == other.x && self.y == other.y
    }
}
impl<F: Frame> fmt::Debug for Point<F> {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        write!(f, "({}, {}) {}", self.x, self.y, F::NAME)
    }
}

/// Takes points of frame `A` to frame `B`: an optional turning over, an optional quarter turn, then a
/// shift.
#[derive(Debug)]
pub struct Map<A, B> {
    over: f64,
    quarter: Quarter,
    shift: [f64; 2],
    frames: PhantomData<(A, B)>,
}

/// Whether a sheet lies a quarter turn clockwise: what was its top points right.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Quarter {
    Straight,
    Turned,
}

impl<A, B> Map<A, B> {
    /// Lays a thing down with `corner` (its lower left corner in `A`) at the origin of `B`.
    pub fn lay_down(corner: Point<A>) -> Self {
        let shift = [-corner.x, -corner.y];
        Map { over: 1.0, quarter: Quarter::Straight, shift, frames: PhantomData }
    }

    /// Turns a thing over left to right and lays it down: `corner` is its lower **right** corner in
    /// `A`, which comes to lie at the origin of `B`.
    pub fn turn_over(corner: Point<A>) -> Self {
        let shift = [corner.x, -corner.y];
        Map { over: -1.0, quarter: Quarter::Straight, shift, frames: PhantomData }
    }

    /// Turns a thing over left to right, then a quarter turn clockwise, so that its top points right;
    /// `corner` is its lower left corner in `A`, which comes to lie at the origin of `B`.
    pub fn turn_over_sideways(corner: Point<A>) -> Self {
        let shift = [-corner.y, -corner.x];
        Map { over: -1.0, quarter: Quarter::Turned, shift, frames: PhantomData }
    }

    /// Where a direction of `A` points in `B`.
    pub fn direction(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let [x, y] = [self.over * x, y];
        match self.quarter {
            Quarter::Straight => [x, y],
            Quarter::Turned => [y, -x],
        }
    }

    pub fn apply(&self, p: Point<A>) -> Point<B> {
        let [x, y] = self.direction([p.x, p.y]);
        Point::new(x + self.shift[0], y + self.shift[1])
    }

    /// The same map for whole paths.
    pub fn affine(&self) -> kurbo::Affine {
        let ([xx, xy], [yx, yy]) = (self.direction([1.0, 0.0]), self.direction([0.0, 1.0]));
        kurbo::Affine::new([xx, xy, yx, yy, self.shift[0], self.shift[1]])
    }

    pub fn inverse(&self) -> Map<B, A> {
        // Each way of laying down is its own inverse, but for the shift.
        let [x, y] = self.direction(self.shift);
        Map { over: self.over, quarter: self.quarter, shift: [-x, -y], frames: PhantomData }
    }
}

impl<A, B> Clone for Map<A, B> {
    fn clone(&self) -> Self {
        *self
    }
}
impl<A, B> Copy for Map<A, B> {}
