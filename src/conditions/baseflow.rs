//! Baseflow by recursive digital filters.

/// Parameters of Eckhardt's filter. Thresholds that use a baseflow belong to one parameter set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EckhardtFilter {
    /// Recession constant `a`: the factor by which baseflow falls each day.
    pub recession_frac: f64,
    /// `BFImax`: the largest share of the flow that can be baseflow over the long run. Not measurable.
    pub bfi_max_frac: f64,
}

/// The project's choice: that of the worked pulse (rows S-PU-on, S-PU-vol), for which alone the pulse
/// thresholds were computed. A steady river has a flow over baseflow of `1 / BFImax` = 1.25 with it, below
/// the onset of 1.5.
///
/// Series-and-skill 3.1 names 0.50 for mountain rivers on hard rock. With that a steady river stands at 2,
/// so that the onset's ratio always holds and a day of 20 % more is half a pulse.
pub const PROJECT_FILTER: EckhardtFilter = EckhardtFilter {
    recession_frac: 0.98,
    bfi_max_frac: 0.80,
};

/// Days of flow that the filter needs before its baseflow is used.
pub const BASEFLOW_MIN_DAYS: usize = 60;
/// Days whose lowest flow starts the filter.
const START_DAYS: usize = 10;
/// Longest hole over which the baseflow is carried, days (project choice).
const LONGEST_HOLE_DAYS: usize = 7;

/// Eckhardt's baseflow of daily flows without holes, starting from `start_m3s` on the first day.
///
/// ```text
/// b_i = [(1 - B) a b_(i-1) + (1 - a) B Q_i] / (1 - a B),   b_i <= Q_i
/// ```
///
/// with `a` = `recession_frac`, `B` = `bfi_max_frac`, `Q` = `flow_m3s`, `b` the result, both in m3/s (the
/// filter is linear, so that any unit of flow does). Source: Eckhardt 2005, Hydrol. Process. 19:507, Eq.
/// 6. `B` is subjective, and the filters disagree by a factor of 1.6 on one flood; with `B` = 0.5 this is
/// [`chapman_maxwell_baseflow_m3s`]. Shape `[day]`, as the input.
///
/// ```
/// use plungeline::conditions::baseflow::{PROJECT_FILTER, eckhardt_baseflow_m3s};
/// let steady = eckhardt_baseflow_m3s(&[5.0, 5.0, 5.0], PROJECT_FILTER, 5.0);
/// // By hand: (0.2 x 0.98 x 5 + 0.02 x 0.8 x 5) / 0.216 = 4.90741. Even a steady flow sinks toward its share B.
/// assert!((steady[1] - 4.90741).abs() < 1e-5);
/// ```
pub fn eckhardt_baseflow_m3s(flow_m3s: &[f64], filter: EckhardtFilter, start_m3s: f64) -> Vec<f64> {
    let (a, b_max) = (filter.recession_frac, filter.bfi_max_frac);
    let mut baseflow = Vec::with_capacity(flow_m3s.len());
    for (i, &flow) in flow_m3s.iter().enumerate() {
        let before = if i == 0 { None } else { baseflow.last().copied() };
        let next = match before {
            None => start_m3s,
            Some(before) => ((1.0 - b_max) * a * before + (1.0 - a) * b_max * flow) / (1.0 - a * b_max),
        };
        baseflow.push(next.min(flow));
    }
    baseflow
}

/// Chapman and Maxwell's baseflow, starting from `start_m3s` on the first day.
///
/// `b_i = a/(2-a) b_(i-1) + (1-a)/(2-a) Q_i`, `b_i <= Q_i`. Source: Chapman & Maxwell 1996, as given in
/// series-and-skill 3.1. Shape `[day]`, as the input.
pub fn chapman_maxwell_baseflow_m3s(flow_m3s: &[f64], recession_frac: f64, start_m3s: f64) -> Vec<f64> {
    let a = recession_frac;
    let mut baseflow: Vec<f64> = Vec::with_capacity(flow_m3s.len());
    for &flow in flow_m3s {
        let next = baseflow.last().map_or(start_m3s, |before| {
            a / (2.0 - a) * before + (1.0 - a) / (2.0 - a) * flow
        });
        baseflow.push(next.min(flow));
    }
    baseflow
}

/// Baseflow of a daily record with holes; `None` where the filter has run for fewer than 60 days.
///
/// It starts from the lowest of the first 10 days. Over a hole of up to 7 days the baseflow recedes by
/// itself, `b_i = a b_(i-1)`, which is the filter at `Q_i = b_i`; after a longer hole it starts anew.
/// Shape `[day]`, as the input.
pub fn baseflow_of_record(flow_m3s: &[Option<f64>], filter: EckhardtFilter) -> Vec<Option<f64>> {
    let (a, b_max) = (filter.recession_frac, filter.bfi_max_frac);
    let mut out = vec![None; flow_m3s.len()];
    let (mut state, mut run_days, mut hole_days) = (None::<f64>, 0_usize, 0_usize);
    for (i, flow) in flow_m3s.iter().enumerate() {
        let Some(flow) = *flow else {
            hole_days += 1;
            state = if hole_days > LONGEST_HOLE_DAYS {
                None
            } else {
                state.map(|b| a * b)
            };
            continue;
        };
        hole_days = 0;
        let next = match state {
            None => {
                run_days = 0;
                flow_m3s[i..]
                    .iter()
                    .take(START_DAYS)
                    .flatten()
                    .copied()
                    .fold(flow, f64::min)
            }
            Some(before) => ((1.0 - b_max) * a * before + (1.0 - a) * b_max * flow) / (1.0 - a * b_max),
        };
        let baseflow = next.min(flow);
        state = Some(baseflow);
        run_days += 1;
        if run_days >= BASEFLOW_MIN_DAYS {
            out[i] = Some(baseflow);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_baseflow_before_sixty_days_and_none_above_the_flow() {
        let flow: Vec<Option<f64>> = (0..90).map(|i| Some(10.0 + f64::from(i % 7))).collect();
        let base = baseflow_of_record(&flow, PROJECT_FILTER);
        assert!(base[..59].iter().all(Option::is_none));
        assert!(
            base[59..]
                .iter()
                .zip(&flow[59..])
                .all(|(b, q)| b.unwrap() <= q.unwrap())
        );
    }

    #[test]
    fn a_short_hole_is_bridged_and_a_long_one_starts_the_filter_anew() {
        let mut flow: Vec<Option<f64>> = vec![Some(10.0); 100];
        flow[70..75].fill(None);
        assert!(baseflow_of_record(&flow, PROJECT_FILTER)[80].is_some());
        flow[70..79].fill(None);
        assert!(baseflow_of_record(&flow, PROJECT_FILTER)[80].is_none());
    }
}
