//! Colour scales: perceptually uniform palettes, from the tables of the crate `colorous`.

/// A colour: red, green, blue.
pub type Rgb = [u8; 3];

/// Steps of a scale. So many colours cannot be told apart by eye, and a field of few colours makes a small file.
const STEPS: f64 = 128.0;

/// A palette whose lightness rises evenly, so that equal steps look equal, in grey too.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Palette {
    /// Violet over green to yellow; told apart by the colour-blind.
    Viridis,
    /// Blue over grey to yellow; made to look the same to the red- and green-blind (Nuñez et al. 2018).
    Cividis,
    /// Violet over red to yellow.
    Plasma,
}

/// Which colour a value has.
#[derive(Debug, Clone, PartialEq)]
pub struct ColourScale {
    /// Palette.
    pub palette: Palette,
    /// What the scale shows, with its unit: `water temperature, °C`.
    pub label: String,
    /// Value of the first colour.
    pub from: f64,
    /// Value of the last colour; more than `from`.
    pub to: f64,
}

impl ColourScale {
    /// A scale from the least to the greatest finite one of `values`; from 0 to 1 without any. Where all are equal it
    /// reaches a half to either side.
    pub fn over(palette: Palette, label: &str, values: impl Iterator<Item = f64>) -> ColourScale {
        let (mut from, mut to) = (f64::INFINITY, f64::NEG_INFINITY);
        for value in values.filter(|v| v.is_finite()) {
            (from, to) = (from.min(value), to.max(value));
        }
        if from > to {
            (from, to) = (0.0, 1.0);
        } else if from == to {
            (from, to) = (from - 0.5, to + 0.5);
        }
        ColourScale {
            palette,
            label: label.to_owned(),
            from,
            to,
        }
    }

    /// Colour of `value`, in 128 steps; values beyond the ends have the colour of the end. `None` for what is no
    /// number.
    pub fn colour(&self, value: f64) -> Option<Rgb> {
        let share = (value - self.from) / (self.to - self.from);
        if share.is_nan() {
            return None;
        }
        let step = (share.clamp(0.0, 1.0) * STEPS).floor().min(STEPS - 1.0);
        let gradient = match self.palette {
            Palette::Viridis => colorous::VIRIDIS,
            Palette::Cividis => colorous::CIVIDIS,
            Palette::Plasma => colorous::PLASMA,
        };
        let colour = gradient.eval_continuous(step / (STEPS - 1.0));
        Some([colour.r, colour.g, colour.b])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ends_are_those_of_the_published_palette() {
        let scale = ColourScale::over(Palette::Viridis, "", [0.0, 20.0].into_iter());
        // matplotlib 3.9, colormaps["viridis"]: 0 is #440154, 1 is #fde725.
        assert_eq!(scale.colour(0.0), Some([0x44, 0x01, 0x54]));
        assert_eq!(scale.colour(20.0), Some([0xfd, 0xe7, 0x25]));
        assert_eq!(scale.colour(99.0), scale.colour(20.0));
        assert_eq!(scale.colour(f64::NAN), None);
    }

    #[test]
    fn every_palette_grows_lighter_all_the_way() {
        for palette in [Palette::Viridis, Palette::Cividis, Palette::Plasma] {
            let scale = ColourScale::over(palette, "", [0.0, 1.0].into_iter());
            // Luma of ITU-R BT.709.
            let luma =
                |c: Rgb| 0.2126 * f64::from(c[0]) + 0.7152 * f64::from(c[1]) + 0.0722 * f64::from(c[2]);
            let all: Vec<f64> = (0..16)
                .filter_map(|i| scale.colour(f64::from(i) / 15.0))
                .map(luma)
                .collect();
            assert!(all.windows(2).all(|w| w[1] > w[0]), "{palette:?} {all:?}");
        }
    }

    #[test]
    fn a_scale_over_one_value_or_none_still_has_two_ends() {
        let one = ColourScale::over(Palette::Viridis, "", [4.0].into_iter());
        assert_eq!((one.from, one.to), (3.5, 4.5));
        let none = ColourScale::over(Palette::Viridis, "", [f64::NAN].into_iter());
        assert_eq!((none.from, none.to), (0.0, 1.0));
    }
}
