//! Means are kept, bounds hold, gaps are filled or named.

use super::*;
use proptest::prelude::*;

const FLAT: Filling<'static> = Filling {
    longest_gap: 3.0,
    step: 1.0,
    shape: &|_, _| 1.0,
    least_shape: 0.0,
};

fn rows(values: &[Option<f64>], length: f64) -> Vec<SpanRow> {
    values
        .iter()
        .enumerate()
        .map(|(i, &value)| SpanRow {
            from: length * i as f64,
            to: length * (i + 1) as f64,
            value,
        })
        .collect()
}

proptest! {
    #[test]
    fn the_mean_of_each_span_is_kept_and_bounds_hold(
        values in prop::collection::vec(0.0..30.0_f64, 1..40), pieces in 1_usize..25,
    ) {
        let record: Vec<Option<f64>> = values.iter().copied().map(Some).collect();
        let length = pieces as f64;
        let end = length * values.len() as f64;
        let filling = Filling { step: length, ..FLAT };
        let (spans, filled) = SpanMeans::filled(&rows(&record, length), (0.0, end), filling).unwrap();
        prop_assert_eq!(filled, Filled::default());
        let steps = spans.curve((0.0, 30.0)).steps(0.0, 1.0, pieces * values.len()).unwrap();
        for (span, value) in steps.chunks(pieces).zip(&values) {
            let mean = span.iter().sum::<f64>() / length;
            // Rounding of sums of 24 numbers up to 30.
            prop_assert!((mean - value).abs() < 1e-11, "{} {}", mean, value);
        }
        prop_assert!(steps.iter().all(|v| (-1e-12..=30.0 + 1e-11).contains(v)));
    }

    #[test]
    fn steps_that_cut_spans_keep_the_whole(values in prop::collection::vec(-5.0..5.0_f64, 3..20)) {
        let record: Vec<Option<f64>> = values.iter().copied().map(Some).collect();
        let n = values.len();
        let (spans, _) = SpanMeans::filled(&rows(&record, 3.0), (0.0, 3.0 * n as f64), FLAT).unwrap();
        // Steps of 0.75, offset by nothing, cut no edge; steps of 2 do.
        let count = 3 * n / 2;
        let steps = spans.curve((f64::MIN, f64::MAX)).steps(0.0, 2.0, count).unwrap();
        let mean = spans.curve((f64::MIN, f64::MAX)).mean(0.0, 2.0 * count as f64).unwrap();
        prop_assert!((steps.iter().sum::<f64>() / count as f64 - mean).abs() < 1e-11);
    }
}

#[test]
fn a_wave_is_drawn_closer_than_by_steps() {
    // Mean of cos(2 pi t / 24) over a span: the difference of its primitive.
    let mean = |from: f64, length: f64| {
        let primitive = |t: f64| (std::f64::consts::TAU * t / 24.0).sin() * 24.0 / std::f64::consts::TAU;
        (primitive(from + length) - primitive(from)) / length
    };
    let record: Vec<Option<f64>> = (0..80).map(|i| Some(mean(3.0 * f64::from(i), 3.0))).collect();
    let filling = Filling { step: 3.0, ..FLAT };
    let (spans, _) = SpanMeans::filled(&rows(&record, 3.0), (0.0, 240.0), filling).unwrap();
    let steps = spans.curve((-2.0, 2.0)).steps(0.0, 1.0, 240).unwrap();
    // An edge of fourth order errs by (k h)^4 / 30 of the amplitude, k h = 2 pi 3/24: 1.3 %. Steps err by 25 %.
    let worst = (24..216)
        .map(|k| (steps[k] - mean(k as f64, 1.0)).abs())
        .fold(0.0, f64::max);
    assert!(worst < 0.013, "{worst}");
}

#[test]
fn a_short_gap_is_filled_straight_and_counted() {
    let record = rows(&[Some(1.0), None, None, Some(4.0)], 1.0);
    let (spans, filled) = SpanMeans::filled(&record, (0.0, 4.0), FLAT).unwrap();
    assert_eq!(filled, Filled { gaps: 1, length: 2.0 });
    let means: Vec<f64> = spans.spans().map(|s| s.2).collect();
    assert_eq!(means, [1.0, 2.0, 3.0, 4.0]);
}

#[test]
fn a_long_gap_is_refused_with_its_ends_unless_it_lies_outside() {
    let record = rows(&[Some(1.0), None, None, None, None, Some(4.0), Some(5.0)], 1.0);
    let gap = SpanFault::Gap { from: 1.0, to: 5.0 };
    assert_eq!(SpanMeans::filled(&record, (0.0, 6.0), FLAT).unwrap_err(), gap);
    assert!(SpanMeans::filled(&record[5..], (5.0, 7.0), FLAT).is_ok());
    let ahead = SpanMeans::filled(&record[5..], (0.0, 7.0), FLAT).unwrap_err();
    assert_eq!(ahead, SpanFault::Gap { from: 0.0, to: 5.0 });
}

#[test]
fn rows_that_overlap_are_refused() {
    let mut record = rows(&[Some(1.0), Some(2.0)], 1.0);
    record[1].from = 0.5;
    let fault = SpanMeans::filled(&record, (0.0, 2.0), FLAT).unwrap_err();
    assert_eq!(fault, SpanFault::Overlap { at: 0.5 });
    assert_eq!(
        SpanMeans::filled(&[], (0.0, 2.0), FLAT).unwrap_err(),
        SpanFault::Empty
    );
}

#[test]
fn a_gap_of_a_shaped_quantity_follows_the_shape() {
    let shape = |from: f64, to: f64| 0.5 * (from + to);
    let filling = Filling {
        shape: &shape,
        least_shape: 0.1,
        ..FLAT
    };
    let record = rows(&[Some(1.0), None, None, Some(7.0)], 1.0);
    let (spans, _) = SpanMeans::filled(&record, (0.0, 4.0), filling).unwrap();
    let means: Vec<f64> = spans.spans().map(|s| s.2).collect();
    // Twice the middle of each span.
    assert_eq!(means, [1.0, 3.0, 5.0, 7.0]);
}
