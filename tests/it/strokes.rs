//! Orders of pen strokes against brute force and drawings whose optimum is known.

use crate::route::{SLOW_Y, Seed, each_order, is_permutation, move_cost};
use bradawl::route::{
    Cost, Direction, Effort, Ends, Place, Run, Shape, Stroke, bound_strokes_by_rank, order_strokes,
    order_strokes_by_rank,
};

fn line(a: Place, b: Place) -> Stroke {
    Stroke { points: vec![a, b], shape: Shape::Line }
}

/// Every side of a square grid of `w` by `h` cells, each a stroke of its own, some turned over.
fn grid_lines(w: usize, h: usize) -> Vec<Stroke> {
    let mut strokes = Vec::new();
    let at = |i: usize, j: usize| [i as f64 * 10.0, j as f64 * 10.0];
    for i in 0..=w {
        for j in 0..=h {
            if i < w {
                strokes.push(line(at(i, j), at(i + 1, j)));
            }
            if j < h {
                strokes.push(line(at(i, j + 1), at(i, j)));
            }
        }
    }
    strokes
}

/// Checks an order of strokes against itself and returns it.
fn drawn(strokes: &[Stroke], ends: Ends, cost: Cost, lift: f64) -> bradawl::route::StrokeOrder {
    let found = order_strokes(strokes, ends, cost, lift, Effort::Normal, &mut |_| {}).unwrap();
    let once: Vec<usize> = found.runs.iter().map(|r| r.stroke).collect();
    assert!(is_permutation(&once, strokes.len()), "{once:?}");
    let span = |r: &Run| {
        let points = &strokes[r.stroke].points;
        match strokes[r.stroke].shape {
            Shape::Loop => (points[r.entry], points[r.entry]),
            Shape::Line if r.entry == 0 => (points[0], points[points.len() - 1]),
            Shape::Line => (points[points.len() - 1], points[0]),
        }
    };
    let mut ways: Vec<(Place, Place)> =
        found.runs.windows(2).map(|w| (span(&w[0]).1, span(&w[1]).0)).collect();
    let lifts = 1 + ways.iter().filter(|w| w.0 != w.1).count();
    if let (Some(first), Some(last)) = (found.runs.first(), found.runs.last()) {
        match ends {
            Ends::Park(park) => ways.extend([(park, span(first).0), (span(last).1, park)]),
            Ends::Closed => ways.push((span(last).1, span(first).0)),
            Ends::Open => {}
        }
    }
    let paid = |w: &(Place, Place)| if w.0 == w.1 { 0.0 } else { move_cost(w.0, w.1, cost) + lift };
    let sum: f64 = ways.iter().map(paid).sum();
    assert!((sum - found.cost).abs() < 1e-4, "{sum} told as {}", found.cost);
    assert!(found.bound <= found.cost + 1e-9);
    if ends != Ends::Closed {
        assert_eq!(found.lifts, lifts);
    }
    found
}

#[test]
fn networks_of_strokes_reach_their_known_optima() {
    // A drawing in one line costs nothing between its two ends, in whatever pieces it comes.
    let spiral: Vec<Place> = (0..80)
        .map(|i| {
            let r = f64::from(i);
            [[r, 0.0], [0.0, r], [-r, 0.0], [0.0, -r]][i as usize % 4]
        })
        .collect();
    let mut pieces: Vec<Stroke> = spiral.windows(2).map(|w| line(w[0], w[1])).collect();
    for i in 0..pieces.len() {
        if i % 3 == 0 {
            pieces[i].points.reverse();
        }
        let other = i * 31 % 79;
        pieces.swap(i, other);
    }
    let found = drawn(&pieces, Ends::Open, Cost::Distance, 0.5);
    assert_eq!((found.cost, found.bound, found.lifts), (0.0, 0.0, 1));

    // A square grid: only the vertices of its border are odd, in pairs side by side. Along a side
    // of k cells there are k - 1 of them.
    for (w, h) in [(1, 1), (3, 3), (5, 4), (9, 7)] {
        let strokes = grid_lines(w, h);
        let odd = 2 * (w - 1) + 2 * (h - 1);
        let found = drawn(&strokes, Ends::Closed, Cost::Distance, 0.0);
        assert_eq!(found.bound, found.cost, "{w} x {h}");
        let least =
            if (w - 1) % 2 == 0 && (h - 1) % 2 == 0 { 10.0 * odd as f64 / 2.0 } else { 0.0 };
        assert!(found.cost >= least);
        if least > 0.0 {
            assert_eq!(found.cost, least, "{w} x {h}");
        }
        // Open, two odd vertices may stay as they are.
        let open = drawn(&strokes, Ends::Open, Cost::Distance, 0.0);
        assert_eq!(open.bound, open.cost, "{w} x {h}");
        assert!(open.cost <= found.cost - if odd > 0 { 10.0 } else { 0.0 });
    }

    // Parallel lines far apart: to and fro, the distance between them.
    let lines: Vec<Stroke> =
        (0..20).map(|i| line([0.0, f64::from(i) * 7.0], [500.0, f64::from(i) * 7.0])).collect();
    let found = drawn(&lines, Ends::Open, Cost::Distance, 0.0);
    assert_eq!(found.cost, 19.0 * 7.0);
}

#[test]
fn loops_are_entered_where_that_is_cheapest() {
    // Squares in a row, their points 20 apart from one to the next along the line of entries.
    let squares: Vec<Stroke> = (0..12)
        .map(|i| {
            let x = f64::from(i) * 30.0;
            let points = vec![[x, 50.0], [x + 10.0, 50.0], [x + 10.0, 0.0], [x, 0.0]];
            Stroke { points, shape: Shape::Loop }
        })
        .collect();
    let found = drawn(&squares, Ends::Park([0.0, 0.0]), Cost::Distance, 0.0);
    assert!(found.cost <= 2.0 * 330.0 + 1e-6, "{}", found.cost);
    let open = drawn(&squares, Ends::Open, Cost::Distance, 0.0);
    assert!(open.cost >= 11.0 * 20.0 && open.cost <= 11.0 * 30.0, "{}", open.cost);
}

#[test]
fn small_sets_of_strokes_equal_brute_force_and_their_bound_is_below() {
    let mut seed = Seed(23);
    for case in 0..150 {
        let n = 1 + seed.below(5) as usize;
        let mut spot = || [seed.below(6) as f64 * 20.0, seed.below(6) as f64 * 15.0];
        let strokes: Vec<Stroke> = (0..n).map(|_| line(spot(), spot())).collect();
        let ends = [Ends::Park([-10.0, 3.0]), Ends::Open, Ends::Closed][case % 3];
        let found = drawn(&strokes, ends, SLOW_Y, 0.25);
        let mut best = f64::INFINITY;
        let mut way: Vec<usize> = (0..n).collect();
        each_order(&mut way, 0, &mut |way| {
            for turned in 0..1usize << n {
                let mut points = Vec::new();
                for &s in way {
                    let p = &strokes[s].points;
                    points.extend(if turned >> s & 1 == 1 { [p[1], p[0]] } else { [p[0], p[1]] });
                }
                let paid =
                    |a: Place, b: Place| if a == b { 0.0 } else { move_cost(a, b, SLOW_Y) + 0.25 };
                let mut sum: f64 =
                    points[1..points.len() - 1].chunks(2).map(|c| paid(c[0], c[1])).sum();
                let (first, last) = (points[0], points[points.len() - 1]);
                sum += match ends {
                    Ends::Park(park) => paid(park, first) + paid(last, park),
                    Ends::Closed => paid(last, first),
                    Ends::Open => 0.0,
                };
                best = best.min(sum);
            }
        });
        assert!(
            found.bound <= best + 1e-5,
            "case {case}: {} above {best} {strokes:?}",
            found.bound
        );
        assert!(
            (found.cost - best).abs() < 1e-5,
            "case {case}: {} for {best} {strokes:?} {ends:?}",
            found.cost
        );
    }
}

/// What an order of strokes costs, from and to park.
fn paid(strokes: &[Stroke], park: Place, runs: &[Run], cost: Cost, lift: f64) -> f64 {
    let mut at = park;
    let mut sum = 0.0;
    let mut go =
        |to: Place, at: Place| sum += if to == at { 0.0 } else { move_cost(at, to, cost) + lift };
    for run in runs {
        let points = &strokes[run.stroke].points;
        let begin = points[run.entry];
        go(begin, at);
        at = match (strokes[run.stroke].shape, run.direction) {
            (Shape::Loop, _) => begin,
            (Shape::Line, Direction::Forward) => points[points.len() - 1],
            (Shape::Line, Direction::Backward) => points[0],
        };
    }
    go(park, at);
    sum
}

/// Lines and loops of up to four points, entered anywhere, and in half of the cases one loop that
/// comes last: no bound is above the best of all orders, and most orders are that best one.
#[test]
fn small_sets_with_loops_equal_brute_force_and_their_bound_is_below() {
    let mut seed = Seed(31);
    let (mut best_found, mut proved) = (0, 0);
    let cases = 120;
    for case in 0..cases {
        let n = 2 + seed.below(3) as usize;
        let mut spot = || [seed.below(7) as f64 * 20.0, seed.below(7) as f64 * 15.0];
        let mut strokes: Vec<Stroke> = (0..n)
            .map(|i| match i % 2 {
                0 => line(spot(), spot()),
                _ => Stroke { points: vec![spot(), spot(), spot(), spot()], shape: Shape::Loop },
            })
            .collect();
        let mut ranks = vec![0; n];
        if case % 2 == 0 {
            strokes.push(Stroke { points: vec![spot(), spot(), spot()], shape: Shape::Loop });
            ranks.push(1);
        }
        let park = [-15.0, 40.0];
        let lift = [0.0, 0.3][case % 4 / 2];
        let order = |cost| {
            let effort = Effort::Normal;
            order_strokes_by_rank(&strokes, &ranks, park, cost, lift, effort, &mut |_| {}).unwrap()
        };
        let found = order(SLOW_Y);
        let mut best = [f64::INFINITY; 2];
        let mut way: Vec<usize> = (0..strokes.len()).collect();
        each_order(&mut way, 0, &mut |way| {
            if !way.is_sorted_by_key(|&i| ranks[i]) {
                return;
            }
            let choices = |&i: &usize| -> Vec<Run> {
                let entries = match strokes[i].shape {
                    Shape::Loop => strokes[i].points.len(),
                    Shape::Line => 2,
                };
                let run = |entry| match (strokes[i].shape, entry) {
                    (Shape::Line, 1) => Run { stroke: i, direction: Direction::Backward, entry },
                    _ => Run { stroke: i, direction: Direction::Forward, entry },
                };
                (0..entries).map(run).collect()
            };
            let all: Vec<Vec<Run>> = way.iter().map(choices).collect();
            let mut at = vec![0; all.len()];
            loop {
                let runs: Vec<Run> = at.iter().zip(&all).map(|(&i, of)| of[i]).collect();
                for (best, cost) in best.iter_mut().zip([SLOW_Y, Cost::Distance]) {
                    *best = best.min(paid(&strokes, park, &runs, cost, lift));
                }
                let Some(next) = (0..at.len()).find(|&i| at[i] + 1 < all[i].len()) else { break };
                at[..next].fill(0);
                at[next] += 1;
            }
        });
        let told = format!("case {case}: {strokes:?} {ranks:?} best {best:?} {found:?}");
        assert!(
            (paid(&strokes, park, &found.runs, SLOW_Y, lift) - found.cost).abs() < 1e-5,
            "{told}"
        );
        assert!(found.runs.is_sorted_by_key(|run| ranks[run.stroke]), "{told}");
        assert!(found.bound <= best[0] + 1e-5, "{told}");
        best_found += usize::from(found.cost <= best[0] + 1e-5);
        proved += usize::from(found.excess() < 1e-6);
        let straight = bound_strokes_by_rank(
            &strokes,
            &ranks,
            park,
            Cost::Distance,
            lift,
            Effort::Quick,
            &found.runs,
        );
        assert!(straight.unwrap() <= best[1] + 1e-5, "{told}");
    }
    assert!(best_found > cases * 9 / 10, "{best_found} of {cases} are best");
    assert!(proved > cases / 10, "{proved} of {cases} are proved");
}

/// An outline drawn last and registration drawn first stay there, at a cost no bound is above.
#[test]
fn ranks_of_strokes_are_kept() {
    let park = [0.0, 0.0];
    let cross =
        |x: f64, y: f64| Stroke { points: vec![[x - 5.0, y], [x + 5.0, y]], shape: Shape::Line };
    let mut strokes: Vec<Stroke> = (0..30)
        .map(|i| cross(50.0 + f64::from(i % 6) * 40.0, 50.0 + f64::from(i / 6) * 40.0))
        .collect();
    let frame = vec![[0.0, 0.0], [300.0, 0.0], [300.0, 260.0], [0.0, 260.0]];
    strokes.insert(7, Stroke { points: frame, shape: Shape::Loop });
    strokes.push(cross(290.0, 250.0));
    let mut ranks = vec![1; strokes.len()];
    (ranks[7], ranks[31]) = (2, 0);
    let order = order_strokes_by_rank(
        &strokes,
        &ranks,
        park,
        Cost::Distance,
        0.0,
        Effort::Normal,
        &mut |_| {},
    )
    .expect("finite strokes");
    let drawn: Vec<usize> = order.runs.iter().map(|run| run.stroke).collect();
    assert_eq!((drawn[0], drawn[31]), (31, 7), "registration first, the outline last");
    let mut all = drawn.clone();
    all.sort_unstable();
    assert!(all.into_iter().eq(0..strokes.len()), "each once");
    assert!(order.bound <= order.cost + 1e-9 && order.bound > 0.0);
    let free =
        order_strokes(&strokes, Ends::Park(park), Cost::Distance, 0.0, Effort::Normal, &mut |_| {})
            .expect("finite strokes");
    assert!(free.bound <= order.cost + 1e-9, "ranks never cost less than the bound without them");
    let alike = vec![3; strokes.len()];
    let same = order_strokes_by_rank(
        &strokes,
        &alike,
        park,
        Cost::Distance,
        0.0,
        Effort::Normal,
        &mut |_| {},
    );
    assert_eq!(same.expect("finite strokes"), free, "one rank is no rank");
}
