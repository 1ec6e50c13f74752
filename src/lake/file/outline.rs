//! Outlines of zones and stretches.

use super::block::Block;
use super::fault::At;
use super::known::Known;
use super::places::{is_far, near_lake};

/// Most corners of an outline (project choice): what a map draws of a lake has some hundreds.
const CORNERS_MOST: usize = 5000;

/// The outline of a block: empty where there is none, `None` where it is faulty.
pub(super) fn read_outline(block: &Block<'_, '_>, known: &Known<'_>) -> Option<Vec<(f64, f64)>> {
    if !block.has("outline") {
        return Some(Vec::new());
    }
    let outline = block.outline("outline")?;
    let corners: Vec<(f64, f64)> = outline.value.iter().map(|at| at.value).collect();
    let mut sound = true;
    if let Some(far) = outline.value.iter().find(|p| is_far(p.value, known)) {
        near_lake(block, far, known);
        sound = false;
    }
    if corners.len() > CORNERS_MOST {
        let found = format!("an outline of {} corners", corners.len());
        block.fault(
            &outline.span,
            found,
            format!("at most {CORNERS_MOST}"),
            "draw it more coarsely",
        );
        return None;
    }
    if let Some(at) = crossing(&outline.value) {
        let mend = "write the corners in the order in which one walks round the water, each once";
        block.fault(
            &at.span,
            "an outline that crosses itself here",
            "a ring without crossings",
            mend,
        );
        sound = false;
    }
    sound.then_some(corners)
}

/// The corner at which an edge begins that meets another one, or lies on it.
fn crossing(corners: &[At<(f64, f64)>]) -> Option<&At<(f64, f64)>> {
    let count = corners.len();
    let edge = |i: usize| (corners[i].value, corners[(i + 1) % count].value);
    (0..count).find_map(|i| {
        let own = edge(i);
        if own.0 == own.1 {
            return Some(&corners[i]);
        }
        // Neighbours share a corner, and may do no more than that.
        let others = (i + 1..count).filter(|j| match (*j == i + 1, i == 0 && *j == count - 1) {
            (false, false) => meet(own, edge(*j)),
            (true, _) => is_back(own.0, own.1, edge(*j).1),
            (_, true) => is_back(edge(*j).0, own.0, own.1),
        });
        others.min().map(|j| &corners[j])
    })
}

type Point = (f64, f64);

/// Twice the area of a triangle, with the sign of its turn.
fn turn(a: Point, b: Point, c: Point) -> f64 {
    (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0)
}

/// Whether the way from `a` over `b` to `c` goes back on itself.
fn is_back(a: Point, b: Point, c: Point) -> bool {
    let ahead = (b.0 - a.0) * (c.0 - b.0) + (b.1 - a.1) * (c.1 - b.1);
    turn(a, b, c) == 0.0 && ahead < 0.0
}

/// Whether two edges without a common corner meet.
fn meet((a, b): (Point, Point), (c, d): (Point, Point)) -> bool {
    let on = |p: Point, q: Point, r: Point| {
        r.0 >= p.0.min(q.0) && r.0 <= p.0.max(q.0) && r.1 >= p.1.min(q.1) && r.1 <= p.1.max(q.1)
    };
    let (abc, abd, cda, cdb) = (turn(a, b, c), turn(a, b, d), turn(c, d, a), turn(c, d, b));
    let apart = |x: f64, y: f64| (x > 0.0 && y < 0.0) || (x < 0.0 && y > 0.0);
    (apart(abc, abd) && apart(cda, cdb))
        || (abc == 0.0 && on(a, b, c))
        || (abd == 0.0 && on(a, b, d))
        || (cda == 0.0 && on(c, d, a))
        || (cdb == 0.0 && on(c, d, b))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(points: &[Point]) -> Vec<At<Point>> {
        points
            .iter()
            .enumerate()
            .map(|(i, p)| At::new(*p, i..i + 1))
            .collect()
    }

    fn crosses_at(points: &[Point]) -> Option<usize> {
        crossing(&ring(points)).map(|at| at.span.start)
    }

    #[test]
    fn a_ring_may_not_cross_touch_or_go_back_on_itself() {
        assert_eq!(
            crosses_at(&[(0.0, 0.0), (0.0, 1.0), (1.0, 1.0), (1.0, 0.0)]),
            None
        );
        // A bow tie: the third edge crosses the first.
        assert_eq!(
            crosses_at(&[(0.0, 0.0), (0.0, 1.0), (1.0, 0.0), (1.0, 1.0)]),
            Some(3)
        );
        assert!(crosses_at(&[(0.0, 0.0), (0.0, 2.0), (0.0, 1.0)]).is_some());
        assert!(crosses_at(&[(0.0, 0.0), (0.0, 0.0), (1.0, 1.0)]).is_some());
        // A corner on another edge.
        assert!(crosses_at(&[(0.0, 0.0), (0.0, 2.0), (2.0, 2.0), (0.0, 1.0), (2.0, 0.0)]).is_some());
    }
}
