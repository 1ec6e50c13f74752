//! The logarithm of a zone's share and its slopes by the coefficients.
//!
//! A brief holds log-odds within +-4 by cutting them off, and a corner has no slope. Here the corner is round, within half a unit of it.

use super::super::draws::ETA_BOUND;

/// Half width of the round corner of the bound (project choice).
const ROUND: f64 = 0.5;

/// Log-odds held within the bound, with first and second derivative: as they are up to 3.5, 4 from 4.5 on, and between them
/// `3.5 + t - t^3 + t^4 / 2` with `t` from 0 to 1. It differs from cutting off by 0.094 at most.
fn held(eta: f64) -> (f64, f64, f64) {
    let t = (eta.abs() - (ETA_BOUND - ROUND)) / (2.0 * ROUND);
    if t <= 0.0 {
        return (eta, 1.0, 0.0);
    }
    if t >= 1.0 {
        return (ETA_BOUND.copysign(eta), 0.0, 0.0);
    }
    let size = ETA_BOUND - ROUND + 2.0 * ROUND * (t - t.powi(3) + 0.5 * t.powi(4));
    let slope = 1.0 - 3.0 * t * t + 2.0 * t.powi(3);
    let bend = (6.0 * t * t - 6.0 * t) / (2.0 * ROUND);
    // An odd function bends the other way below 0.
    (size.copysign(eta), slope, bend * eta.signum())
}

/// The zones of one morning that are open, ready for slopes: only rules that speak in some zone that morning.
///
/// `eta = offset + response . z` with responses scaled by the prior's standard deviation.
#[derive(Debug, Clone, PartialEq)]
pub struct ShareDesign {
    /// Places of the rules that speak.
    pub speaks: Vec<usize>,
    /// Scaled responses, `[zone][rule]` one after the other; those of the main body, which comes first, are 0.
    pub response: Vec<f64>,
    /// Log-odds of each zone at the prior means: of fish that follow every rule.
    pub offset: Vec<f64>,
    /// Whether only mature fish follow the rule. Shape `[rule]`.
    pub mature_only: Vec<bool>,
    /// Log-odds at the prior means of fish that follow none of those.
    pub rest_offset: Vec<f64>,
    /// Share of mature fish, where they differ that morning.
    pub mature_frac: Option<f64>,
}

/// Shares of one part of the fish, with the responses that move them.
#[derive(Debug, Clone)]
struct Part {
    share: Vec<f64>,
    /// Responses times the slope of the bound.
    response: Vec<f64>,
    mean: Vec<f64>,
    /// Covariance of the responses, less the mean of what the bound bends: minus the Hessian of `ln sum exp eta`.
    covariance: Vec<f64>,
    /// What the bound bends: zone, and the outer product of its responses times the second derivative.
    bent: Vec<(usize, Vec<f64>)>,
}

/// Shares of one morning at one set of coefficients.
#[derive(Debug, Clone)]
pub struct MorningShares {
    rules: usize,
    whole: Part,
    rest: Option<(f64, Part)>,
}

impl ShareDesign {
    /// Zones that are open.
    pub fn zones(&self) -> usize {
        self.offset.len()
    }

    /// Shares at the coefficients `z`; `with_slopes` prepares for [`MorningShares::slopes`].
    pub fn at(&self, z: &[f64], with_slopes: bool) -> MorningShares {
        let whole = self.part(z, false, with_slopes);
        let rest = self.mature_frac.map(|m| (m, self.part(z, true, with_slopes)));
        MorningShares {
            rules: self.speaks.len(),
            whole,
            rest,
        }
    }

    fn part(&self, z: &[f64], rest: bool, with_slopes: bool) -> Part {
        let rules = self.speaks.len();
        let offset = if rest { &self.rest_offset } else { &self.offset };
        let mut response = self.response.clone();
        if rest {
            for row in response.chunks_exact_mut(rules.max(1)) {
                let silent = row.iter_mut().zip(&self.mature_only).filter(|(_, only)| **only);
                silent.for_each(|(f, _)| *f = 0.0);
            }
        }
        let mut eta = offset.clone();
        let mut bent = Vec::new();
        for (zone, eta) in eta.iter_mut().enumerate() {
            let row = &mut response[zone * rules..(zone + 1) * rules];
            *eta += row.iter().zip(&self.speaks).map(|(f, k)| f * z[*k]).sum::<f64>();
            let (held, slope, bend) = held(*eta);
            *eta = held;
            if with_slopes && bend != 0.0 {
                let outer = row.iter().flat_map(|a| row.iter().map(move |b| bend * a * b));
                bent.push((zone, outer.collect::<Vec<f64>>()));
            }
            if slope != 1.0 {
                row.iter_mut().for_each(|f| *f *= slope);
            }
        }
        let share = crate::math::softmax::softmax(&eta);
        let (mut mean, mut covariance) = (Vec::new(), Vec::new());
        if with_slopes {
            mean = vec![0.0; rules];
            covariance = vec![0.0; rules * rules];
            for (p, f) in share.iter().zip(response.chunks_exact(rules.max(1))) {
                mean.iter_mut().zip(f).for_each(|(m, f)| *m += p * f);
            }
            for (p, f) in share.iter().zip(response.chunks_exact(rules.max(1))) {
                for a in 0..rules {
                    let weighted = p * (f[a] - mean[a]);
                    for b in 0..rules {
                        covariance[a * rules + b] += weighted * (f[b] - mean[b]);
                    }
                }
            }
            for (zone, outer) in &bent {
                covariance
                    .iter_mut()
                    .zip(outer)
                    .for_each(|(c, b)| *c += share[*zone] * b);
            }
        }
        Part {
            share,
            response,
            mean,
            covariance,
            bent,
        }
    }
}

impl MorningShares {
    /// Share of `zone`, the main body being 0.
    pub fn share(&self, zone: usize) -> f64 {
        match &self.rest {
            None => self.whole.share[zone],
            Some((m, rest)) => m * self.whole.share[zone] + (1.0 - m) * rest.share[zone],
        }
    }

    /// Gradient and Hessian of `ln share` of `zone` by the coefficients that speak. Shapes `[rule]`, `[rule][rule]`.
    ///
    /// Of one part `f_i - sum p f` and `-cov_p(f)`, with what the bound bends added. Of a mixture `s = m p + (1 - m) q`:
    /// `ds/s = w_p a + w_q b` with `w_p = m p_i / s`, `a = f_i - sum p f` and likewise `b`, and
    /// `w_p (a a' - cov_p) + w_q (b b' - cov_q) - (ds/s)(ds/s)'`.
    pub fn slopes(&self, zone: usize, gradient: &mut Vec<f64>, hessian: &mut Vec<f64>) {
        let n = self.rules;
        let off_mean = |part: &Part| -> Vec<f64> {
            let own = &part.response[zone * n..(zone + 1) * n];
            own.iter().zip(&part.mean).map(|(f, m)| f - m).collect()
        };
        let a = off_mean(&self.whole);
        hessian.clear();
        gradient.clear();
        let own_bend = |part: &Part| -> Vec<f64> {
            let own = part.bent.iter().find(|(z, _)| *z == zone);
            let mut total: Vec<f64> = part.covariance.iter().map(|c| -c).collect();
            own.into_iter()
                .for_each(|(_, outer)| total.iter_mut().zip(outer).for_each(|(t, b)| *t += b));
            total
        };
        let Some((m, rest)) = &self.rest else {
            hessian.extend(own_bend(&self.whole));
            gradient.extend(a);
            return;
        };
        let (b, of_whole_bend, of_rest_bend) = (off_mean(rest), own_bend(&self.whole), own_bend(rest));
        let share = self.share(zone);
        let of_whole = m * self.whole.share[zone] / share;
        let of_rest = (1.0 - m) * rest.share[zone] / share;
        gradient.extend(a.iter().zip(&b).map(|(a, b)| of_whole * a + of_rest * b));
        for i in 0..n {
            for j in 0..n {
                let whole = a[i] * a[j] + of_whole_bend[i * n + j];
                let rest = b[i] * b[j] + of_rest_bend[i * n + j];
                hessian.push(of_whole * whole + of_rest * rest - gradient[i] * gradient[j]);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn design(mature_frac: Option<f64>) -> ShareDesign {
        ShareDesign {
            speaks: vec![0, 2, 3],
            response: vec![0.0, 0.0, 0.0, 0.7, -0.4, 0.9, 0.7, 0.3, 0.2],
            offset: vec![0.0, -0.3, 0.4],
            mature_only: vec![false, false, true],
            rest_offset: vec![0.0, -0.9, 0.1],
            mature_frac,
        }
    }

    #[test]
    fn slopes_are_differences_of_the_logarithm_of_the_share() {
        for mature_frac in [None, Some(0.4)] {
            let design = design(mature_frac);
            // The second set takes zone 1 to 3.9 and zone 2 to 4.2, on the corner.
            for z in [[0.3, 9.9, -0.8, 0.5], [4.0, 9.9, 0.6, 1.8]] {
                let ln_share = |z: &[f64], zone: usize| design.at(z, false).share(zone).ln();
                let moved = |a: usize, da: f64, b: usize, db: f64| {
                    let mut there = z;
                    there[design.speaks[a]] += da;
                    there[design.speaks[b]] += db;
                    there
                };
                let (mut gradient, mut hessian) = (Vec::new(), Vec::new());
                let h = 1e-4;
                for zone in 0..3 {
                    design.at(&z, true).slopes(zone, &mut gradient, &mut hessian);
                    for a in 0..3 {
                        let at = |d: f64| ln_share(&moved(a, d, a, 0.0), zone);
                        assert!((gradient[a] - (at(h) - at(-h)) / (2.0 * h)).abs() < 1e-8);
                        for b in 0..3 {
                            let at = |da: f64, db: f64| ln_share(&moved(a, da, b, db), zone);
                            let mixed = (at(h, h) - at(h, -h) - at(-h, h) + at(-h, -h)) / (4.0 * h * h);
                            // Rounding of 1e-16 over 4e-8, and h^2 times the fourth derivative.
                            assert!(
                                (hessian[a * 3 + b] - mixed).abs() < 1e-7,
                                "{mature_frac:?} {zone} {a} {b}"
                            );
                        }
                    }
                }
            }
        }
    }

    #[test]
    fn the_corner_of_the_bound_is_round_and_met_at_both_ends() {
        // By hand: at 4, t = 1/2: 3.5 + 1/2 - 1/8 + 1/32.
        assert_eq!(held(4.0), (3.90625, 0.5, -1.5));
        assert_eq!(held(-4.0), (-3.90625, 0.5, 1.5));
        assert_eq!(
            (held(3.5), held(4.5), held(-9.0)),
            ((3.5, 1.0, 0.0), (4.0, 0.0, 0.0), (-4.0, 0.0, 0.0))
        );
    }

    #[test]
    fn shares_sum_to_1_and_the_bound_holds_them_still() {
        let design = design(Some(0.4));
        let shares = design.at(&[1.0, 0.0, -40.0, 0.0], true);
        assert!(((0..3).map(|z| shares.share(z)).sum::<f64>() - 1.0).abs() < 1e-12);
        // Arm 1 is held at +4 and arm 2 at -4: nothing moves any of them.
        let (mut gradient, mut hessian) = (Vec::new(), Vec::new());
        shares.slopes(1, &mut gradient, &mut hessian);
        assert!(gradient.iter().chain(&hessian).all(|x| *x == 0.0), "{gradient:?}");
    }
}
