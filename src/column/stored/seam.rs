//! How a source was brought to the scale of the base.

use crate::conditions::seam::{BIAS_FEWEST_DAYS, Bias, SeamBasis, SeamOutcome, SeamPart};
use crate::lake::SeriesId;
use crate::quantity::Quantity;

/// Factors outside are no difference of exposure but a broken sensor, and are not believed (project choice).
const BELIEVED_FACTOR: (f64, f64) = (0.2, 5.0);

/// What brings the sources of a quantity to one scale (project choices).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Scaling {
    /// A difference, the median of the daily ones of the last 30 days: temperature, and pressure, which goes by height.
    Offset,
    /// A ratio of means over all common days of the last year: wind, which is slowed by what stands round a sensor, and vapour
    /// pressure; both stay positive by it.
    Factor,
    /// Nothing: radiation, cloud, rain, whose differences are of places and moments.
    AsItIs,
}

/// How a source reads against the base.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SeamScale {
    /// As it is.
    Same,
    /// So much higher.
    Offset(Bias),
    /// So many times as much.
    Factor {
        /// Mean of the source over mean of the base.
        reads_times_frac: f64,
    },
}

impl SeamScale {
    /// The scale of days that both have, pairs of source and base; `None` for fewer than ten, or a factor that is not believed.
    pub(super) fn of(scaling: Scaling, pairs: &[(f64, f64)]) -> Option<SeamScale> {
        match scaling {
            Scaling::AsItIs => Some(SeamScale::Same),
            Scaling::Offset => {
                let differences: Vec<f64> = pairs.iter().map(|(a, b)| a - b).collect();
                Bias::of(&differences).map(SeamScale::Offset)
            }
            Scaling::Factor => {
                let (own, base) = pairs
                    .iter()
                    .fold((0.0, 0.0), |(a, b), pair| (a + pair.0, b + pair.1));
                let reads_times_frac = own / base;
                let believed = (BELIEVED_FACTOR.0..=BELIEVED_FACTOR.1).contains(&reads_times_frac);
                (pairs.len() >= BIAS_FEWEST_DAYS && believed)
                    .then_some(SeamScale::Factor { reads_times_frac })
            }
        }
    }

    /// A value on the scale of the base.
    pub(super) fn corrected(self, value: f64) -> f64 {
        match self {
            SeamScale::Same => value,
            SeamScale::Offset(bias) => value - bias.reads_high,
            SeamScale::Factor { reads_times_frac } => value / reads_times_frac,
        }
    }
}

/// How a source was brought to the scale of the base.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredSeam {
    /// What.
    pub quantity: Quantity,
    /// Series that was joined.
    pub series: SeriesId,
    /// Its past, or its forecast.
    pub part: SeamPart,
    /// Series that it is measured by.
    pub against: SeriesId,
    /// What the scale rests on; `None` where too few days have both.
    pub basis: Option<SeamBasis>,
    /// The scale; `None` where it is not known.
    pub scale: Option<SeamScale>,
    /// Days with both.
    pub days: usize,
    /// What was made of it.
    pub outcome: SeamOutcome,
}

impl StoredSeam {
    /// The seam of a part whose scale is known or not.
    pub(super) fn of(
        quantity: Quantity,
        (series, part): (&SeriesId, SeamPart),
        against: &SeriesId,
        scale: Option<(SeamScale, SeamBasis)>,
        days: usize,
    ) -> StoredSeam {
        StoredSeam {
            quantity,
            series: series.clone(),
            part,
            against: against.clone(),
            basis: scale.map(|(_, basis)| basis),
            scale: scale.map(|(scale, _)| scale),
            days,
            outcome: match (scale, part) {
                (Some((SeamScale::Same, _)), _) | (None, SeamPart::Forecast) => SeamOutcome::AsIssued,
                (Some(_), _) => SeamOutcome::Corrected,
                (None, SeamPart::Past) => SeamOutcome::NotUsed,
            },
        }
    }
}
