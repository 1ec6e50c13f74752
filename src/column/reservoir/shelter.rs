//! What the shores leave of the wind over a zone, by the direction that it comes from.

use crate::column::layered::Shelter;
use crate::math::interpolate::line;

/// Directions at which the shelter is reckoned beforehand; between them it is drawn straight.
const DIRECTIONS: usize = 36;

/// Shelter of a zone round the compass.
#[derive(Debug, Clone, PartialEq)]
pub struct Shelters {
    /// From every ten degrees, from north on clockwise; then north again.
    by_direction: Vec<Shelter>,
    /// Mean of all, for wind of an unknown direction.
    mean: Shelter,
}

impl Shelters {
    /// The same from everywhere: that of open water of an area.
    pub fn even(area_km2: f64) -> Shelters {
        let shelter = Shelter::of_water(area_km2);
        Shelters {
            by_direction: vec![shelter; DIRECTIONS + 1],
            mean: shelter,
        }
    }

    /// From the open water upwind, `(direction_deg, fetch_m)` with directions increasing, linear between and round the
    /// compass. A fetch stands for the square of water that has it for its side, as a lake's area stands for the fetch in
    /// the shelter of a whole lake (project choice). `None` of an empty table.
    pub fn of_fetch(fetch: &[(f64, f64)]) -> Option<Shelters> {
        let (first, last) = (fetch.first()?, fetch.last()?);
        let round = |direction_deg: f64| {
            let before = fetch.iter().rev().find(|row| row.0 <= direction_deg);
            let before = before.copied().unwrap_or((last.0 - 360.0, last.1));
            let after = fetch.iter().find(|row| row.0 > direction_deg);
            let after = after.copied().unwrap_or((first.0 + 360.0, first.1));
            line(before, after, direction_deg)
        };
        let by_direction: Vec<Shelter> = (0..=DIRECTIONS)
            .map(|i| {
                let fetch_km = round(360.0 * (i % DIRECTIONS) as f64 / DIRECTIONS as f64) / 1000.0;
                Shelter::of_water(fetch_km * fetch_km)
            })
            .collect();
        let mean = |of: fn(&Shelter) -> f64| {
            by_direction[..DIRECTIONS].iter().map(of).sum::<f64>() / DIRECTIONS as f64
        };
        Some(Shelters {
            mean: Shelter {
                wind_frac: mean(|s| s.wind_frac),
                power_frac: mean(|s| s.power_frac),
            },
            by_direction,
        })
    }

    /// Shelter from a wind that comes from a direction, degrees from north; `None` where that is not known.
    pub fn from(&self, wind_from_deg: Option<f64>) -> Shelter {
        let Some(direction_deg) = wind_from_deg.filter(|d| d.is_finite()) else {
            return self.mean;
        };
        let at = direction_deg.rem_euclid(360.0) / 360.0 * DIRECTIONS as f64;
        let before = (at as usize).min(DIRECTIONS - 1);
        let (a, b) = (self.by_direction[before], self.by_direction[before + 1]);
        let share = at - before as f64;
        Shelter {
            wind_frac: a.wind_frac + share * (b.wind_frac - a.wind_frac),
            power_frac: a.power_frac + share * (b.power_frac - a.power_frac),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_open_side_is_windier_and_the_compass_closes() {
        let shelters = Shelters::of_fetch(&[(0.0, 4000.0), (90.0, 300.0), (180.0, 4000.0), (270.0, 300.0)]);
        let shelters = shelters.unwrap();
        let power = |deg: f64| shelters.from(Some(deg)).power_frac;
        assert!(power(0.0) > power(45.0) && power(45.0) > power(90.0));
        for deg in [0.0, 37.0, 90.0, 301.5] {
            // A turn is added and taken off in floating point: some ulp of 360.
            assert!((power(deg) - power(deg + 360.0)).abs() < 1e-12, "{deg}");
            assert!((power(deg) - power(360.0 - deg)).abs() < 1e-12, "{deg}");
        }
        let unknown = shelters.from(None).power_frac;
        assert!(power(90.0) < unknown && unknown < power(0.0));
    }

    #[test]
    fn a_fetch_alike_all_round_is_the_shelter_of_its_square() {
        let shelters = Shelters::of_fetch(&[(10.0, 2000.0)]).unwrap();
        let whole = Shelters::even(4.0);
        for deg in [0.0, 5.0, 10.0, 200.0] {
            let (found, wanted) = (shelters.from(Some(deg)), whole.from(None));
            // Rounding of a line drawn round the compass.
            assert!((found.wind_frac - wanted.wind_frac).abs() < 1e-14, "{deg}");
            assert!((found.power_frac - wanted.power_frac).abs() < 1e-14, "{deg}");
        }
        assert_eq!(Shelters::of_fetch(&[]), None);
    }
}
