//! Places and a cost: an order, and a proven lower bound.
