//! Where the layer ends that an outlet draws from.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use super::state::Lanes;
use super::withdrawal::Drawn;
use crate::physics::mixing::withdrawal_height_m;

/// Least difference of density that holds water back, kg/m3: under it the water counts as uniform.
pub(super) const LEAST_STEP_KG_M3: f64 = 1e-9;

/// Most steps of Newton's rule, and the share of a layer within which it ends.
const NEWTON_STEPS: usize = 30;
const SETTLED_SHARE: f64 = 1e-7;

/// Number of a layer where there is none.
pub(super) const NOWHERE: f64 = -1.0;

/// A place off the outlet's level, lane by lane.
#[derive(Clone, Copy)]
pub(super) struct Off<const L: usize> {
    /// Distance, m.
    pub away_m: Lanes<L>,
    /// Difference of density over it, kg/m3.
    pub step_kg_m3: Lanes<L>,
}

/// One side of the layer that an outlet draws from: where it ends, lane by lane.
pub(super) struct Side<const L: usize> {
    /// The last place from which water is drawn for certain, and the first from which none is.
    pub near: Off<L>,
    pub far: Off<L>,
    /// The layer of the latter; [`NOWHERE`] where the water of all layers is drawn.
    pub beyond: Lanes<L>,
}

impl<const L: usize> Side<L> {
    /// Inverse of distance times difference of density at the limit of a side; 0 in uniform water, which is drawn alike.
    #[inline(always)]
    pub fn per_m_kg_m3(&self, outlet: &Drawn<L>, least: &Lanes<L>) -> Lanes<L> {
        let share = self.share(least);
        let mut per = [0.0; L];
        for lane in 0..L {
            let near = (self.near.away_m[lane], self.near.step_kg_m3[lane]);
            let far = (self.far.away_m[lane], self.far.step_kg_m3[lane]);
            let (away_m, step) = if self.beyond[lane] >= 0.0 {
                let found = between(near, far, share[lane]);
                if share[lane] >= 0.0 && found.1 > LEAST_STEP_KG_M3 {
                    found
                } else {
                    halved(near, far, least[lane])
                }
            } else if near.1 > LEAST_STEP_KG_M3 && outlet.flow_m3s[lane] > 0.0 {
                let flow_m3s = outlet.flow_m3s[lane];
                (withdrawal_height_m(flow_m3s, near.1, outlet.angle_rad), near.1)
            } else {
                (0.0, 0.0)
            };
            per[lane] = if step > LEAST_STEP_KG_M3 {
                1.0 / (away_m * step)
            } else {
                0.0
            };
        }
        per
    }

    /// Where the limit lies between two layers, density linear between them, as a share of the way: from the far one by Newton's
    /// rule, which comes down upon it, since `drho y^5` bends upward where both grow; below 0 where they do not.
    #[inline(always)]
    fn share(&self, least: &Lanes<L>) -> Lanes<L> {
        let (mut share, mut moves) = ([1.0; L], [0.0; L]);
        for lane in 0..L {
            let grows = (self.far.away_m[lane] > self.near.away_m[lane])
                & (self.far.step_kg_m3[lane] > self.near.step_kg_m3[lane]);
            share[lane] = if grows { 1.0 } else { NOWHERE };
            moves[lane] = if grows & (self.beyond[lane] >= 0.0) {
                1.0
            } else {
                0.0
            };
        }
        for _ in 0..NEWTON_STEPS {
            if moves == [0.0; L] {
                break;
            }
            for lane in 0..L {
                let (away, step) = (self.near.away_m[lane], self.near.step_kg_m3[lane]);
                let (per_away, per_step) = (self.far.away_m[lane] - away, self.far.step_kg_m3[lane] - step);
                let (away_m, step) = (away + share[lane] * per_away, step + share[lane] * per_step);
                let square = away_m * away_m;
                let fourth = square * square;
                let over = step * fourth * away_m - least[lane];
                let steep = fourth * (per_step * away_m + 5.0 * step * per_away);
                let back = over / steep;
                share[lane] = if moves[lane] > 0.0 {
                    share[lane] - back
                } else {
                    share[lane]
                };
                moves[lane] = if back > SETTLED_SHARE { moves[lane] } else { 0.0 };
            }
        }
        share
    }
}

/// Whether water of a difference of density is held back at a distance.
#[inline(always)]
fn holds((away_m, step): (f64, f64), least: f64) -> bool {
    let square = away_m * away_m;
    (step > LEAST_STEP_KG_M3) & (step * (square * square * away_m) >= least)
}

#[inline(always)]
fn between(near: (f64, f64), far: (f64, f64), share: f64) -> (f64, f64) {
    let share = share.clamp(0.0, 1.0);
    (
        near.0 + share * (far.0 - near.0),
        near.1 + share * (far.1 - near.1),
    )
}

/// The limit between two layers by halving.
#[cold]
fn halved(near: (f64, f64), far: (f64, f64), least: f64) -> (f64, f64) {
    let (mut low, mut high) = (0.0, 1.0);
    // Twenty halvings: a millionth of a layer.
    for _ in 0..20 {
        let middle = 0.5 * (low + high);
        if holds(between(near, far, middle), least) {
            high = middle;
        } else {
            low = middle;
        }
    }
    between(near, far, high)
}
