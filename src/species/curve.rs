//! Curves given as points.

use super::SpeciesError;
use crate::math::interpolate::linear_pairs;

/// A curve through points: linear between them, constant outside.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    points: Vec<(f64, f64)>,
}

/// A curve with its id and source.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedCurve {
    /// Id within the species file.
    pub id: String,
    /// Curve.
    pub curve: Curve,
    /// Source.
    pub source: String,
}

impl Curve {
    /// A suitability curve: at least two points, x strictly increasing, y within 0 and 1.
    ///
    /// # Errors
    /// [`SpeciesError::Curve`] with the index of the first point that breaks this.
    pub fn new(points: Vec<(f64, f64)>) -> Result<Curve, SpeciesError> {
        if points.len() < 2 {
            return Err(SpeciesError::Curve {
                point: points.len(),
                wanted: "at least two points",
            });
        }
        for (i, &(x, y)) in points.iter().enumerate() {
            if !x.is_finite() || !(0.0..=1.0).contains(&y) {
                return Err(SpeciesError::Curve {
                    point: i,
                    wanted: "a finite x and a suitability within 0 and 1",
                });
            }
            if i > 0 && points[i - 1].0 >= x {
                return Err(SpeciesError::Curve {
                    point: i,
                    wanted: "x greater than that of the point before",
                });
            }
        }
        Ok(Curve { points })
    }

    /// The points, x increasing.
    pub fn points(&self) -> &[(f64, f64)] {
        &self.points
    }

    /// Suitability at `x`; NaN for NaN.
    ///
    /// ```
    /// use plungeline::species::Curve;
    /// // Rainbow trout in lakes, last three points (Raleigh et al. 1984, from a digitisation).
    /// let curve = Curve::new(vec![(12.0, 1.0), (18.0, 1.0), (25.0, 0.0)]).unwrap();
    /// assert!((curve.at(20.0) - 0.714286).abs() < 1e-6);
    /// assert_eq!(curve.at(30.0), 0.0);
    /// ```
    pub fn at(&self, x: f64) -> f64 {
        linear_pairs(&self.points, x).unwrap_or(f64::NAN)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_curve_is_linear_between_its_points_and_constant_outside() {
        let curve = Curve::new(vec![(2.0, 0.0), (4.0, 0.5), (8.0, 0.25)]).unwrap();
        assert_eq!(curve.at(1.0), 0.0);
        assert_eq!(curve.at(3.0), 0.25);
        assert_eq!(curve.at(4.0), 0.5);
        assert_eq!(curve.at(6.0), 0.375);
        assert_eq!(curve.at(80.0), 0.25);
        assert!(curve.at(f64::NAN).is_nan());
    }

    #[test]
    fn a_curve_that_runs_backwards_or_leaves_the_unit_range_is_refused() {
        assert!(matches!(
            Curve::new(vec![(1.0, 0.5)]),
            Err(SpeciesError::Curve { point: 1, .. })
        ));
        assert!(matches!(
            Curve::new(vec![(1.0, 0.5), (1.0, 0.6)]),
            Err(SpeciesError::Curve { point: 1, .. })
        ));
        assert!(matches!(
            Curve::new(vec![(1.0, 0.5), (2.0, 1.2)]),
            Err(SpeciesError::Curve { point: 1, .. })
        ));
        assert!(matches!(
            Curve::new(vec![(f64::NAN, 0.5), (2.0, 1.0)]),
            Err(SpeciesError::Curve { point: 0, .. })
        ));
    }
}
