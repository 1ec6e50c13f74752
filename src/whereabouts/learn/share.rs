//! The logarithm of a zone's share and its slopes by the coefficients.

use super::super::draws::ETA_BOUND;

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
    response: Vec<f64>,
    mean: Vec<f64>,
    covariance: Vec<f64>,
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
        let rest = self
            .mature_frac
            .map(|m| (m, self.part(z, true, with_slopes)));
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
        for (zone, eta) in eta.iter_mut().enumerate() {
            let row = &mut response[zone * rules..(zone + 1) * rules];
            *eta += row.iter().zip(&self.speaks).map(|(f, k)| f * z[*k]).sum::<f64>();
            if eta.abs() > ETA_BOUND {
                // Held within the bound, it does not move with the coefficients.
                *eta = eta.clamp(-ETA_BOUND, ETA_BOUND);
                row.iter_mut().for_each(|f| *f = 0.0);
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
        }
        Part {
            share,
            response,
            mean,
            covariance,
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
    /// Of one part `f_i - sum p f` and `-cov_p(f)`. Of a mixture `s = m p + (1 - m) q`:
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
        let Some((m, rest)) = &self.rest else {
            hessian.extend(self.whole.covariance.iter().map(|c| -c));
            gradient.extend(a);
            return;
        };
        let b = off_mean(rest);
        let share = self.share(zone);
        let of_whole = m * self.whole.share[zone] / share;
        let of_rest = (1.0 - m) * rest.share[zone] / share;
        gradient.extend(a.iter().zip(&b).map(|(a, b)| of_whole * a + of_rest * b));
        for i in 0..n {
            for j in 0..n {
                let whole = a[i] * a[j] - self.whole.covariance[i * n + j];
                let rest = b[i] * b[j] - rest.covariance[i * n + j];
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
            let z = [0.3, 9.9, -0.8, 0.5];
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
                        assert!((hessian[a * 3 + b] - mixed).abs() < 1e-7, "{mature_frac:?} {zone} {a} {b}");
                    }
                }
            }
        }
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
