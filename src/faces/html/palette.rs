//! The colours of the page: by day, in the dark, and a red night that leaves the eyes used to the dark.

/// An sRGB colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Colour(pub u8, pub u8, pub u8);

impl Colour {
    /// As CSS writes it.
    pub fn css(self) -> String {
        format!("#{:02x}{:02x}{:02x}", self.0, self.1, self.2)
    }

    /// Relative luminance, 0 to 1 (WCAG 2.2, definition of relative luminance).
    pub fn luminance(self) -> f64 {
        let linear = |channel: u8| {
            let c = f64::from(channel) / 255.0;
            if c <= 0.04045 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * linear(self.0) + 0.7152 * linear(self.1) + 0.0722 * linear(self.2)
    }

    /// Contrast with another colour, 1 to 21 (WCAG 2.2, definition of contrast ratio).
    pub fn contrast(self, other: Colour) -> f64 {
        let (a, b) = (self.luminance(), other.luminance());
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }
}

/// One set of colours.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Palette {
    /// Background.
    pub paper: Colour,
    /// Text.
    pub ink: Colour,
    /// Small print.
    pub faint: Colour,
    /// Lines between things; they carry no meaning.
    pub rule: Colour,
    /// Labels of dangers, and edges of official alerts.
    pub danger: Colour,
    /// Labels of cautions.
    pub caution: Colour,
    /// Bars of shares.
    pub bar: Colour,
    /// Background of the first part of the page.
    pub panel: Colour,
}

impl Palette {
    /// By day.
    pub const LIGHT: Palette = Palette {
        paper: Colour(0xfd, 0xfc, 0xf8),
        ink: Colour(0x1a, 0x1c, 0x1d),
        faint: Colour(0x54, 0x58, 0x5a),
        rule: Colour(0xcf, 0xcc, 0xc2),
        danger: Colour(0xa0, 0x12, 0x12),
        caution: Colour(0x7a, 0x4a, 0x00),
        bar: Colour(0x4c, 0x88, 0xa0),
        panel: Colour(0xf3, 0xf0, 0xe7),
    };
    /// In the dark.
    pub const DARK: Palette = Palette {
        paper: Colour(0x12, 0x16, 0x18),
        ink: Colour(0xe8, 0xe6, 0xe0),
        faint: Colour(0xa6, 0xab, 0xad),
        rule: Colour(0x3a, 0x42, 0x46),
        danger: Colour(0xff, 0x8f, 0x85),
        caution: Colour(0xf0, 0xbb, 0x5c),
        bar: Colour(0x6f, 0xb2, 0xc8),
        panel: Colour(0x1b, 0x21, 0x24),
    };
    /// Red on black, with no blue and next to no green: rods do not see it, so the eyes stay used to the dark.
    pub const NIGHT: Palette = Palette {
        paper: Colour(0x00, 0x00, 0x00),
        ink: Colour(0xff, 0x3c, 0x00),
        faint: Colour(0xf0, 0x30, 0x00),
        rule: Colour(0x5a, 0x0c, 0x00),
        danger: Colour(0xff, 0x48, 0x00),
        caution: Colour(0xff, 0x40, 0x00),
        bar: Colour(0xd0, 0x24, 0x00),
        panel: Colour(0x14, 0x00, 0x00),
    };

    /// The colours as CSS variables.
    pub fn css(&self) -> String {
        let named = [
            ("paper", self.paper),
            ("ink", self.ink),
            ("faint", self.faint),
            ("rule", self.rule),
            ("danger", self.danger),
            ("caution", self.caution),
            ("bar", self.bar),
            ("panel", self.panel),
        ];
        named
            .iter()
            .map(|(name, colour)| format!("--{name}:{};", colour.css()))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn contrast_is_that_of_the_standard() {
        // WCAG 2.2: black on white 21:1; #777777 on white 4.48:1 (worked in the standard's understanding pages).
        let (white, black) = (Colour(255, 255, 255), Colour(0, 0, 0));
        assert!((white.contrast(black) - 21.0).abs() < 1e-9);
        assert!((Colour(0x77, 0x77, 0x77).contrast(white) - 4.48).abs() < 0.005);
    }

    #[test]
    fn every_text_is_legible_on_every_ground_of_its_palette() {
        for (name, p) in [
            ("light", Palette::LIGHT),
            ("dark", Palette::DARK),
            ("night", Palette::NIGHT),
        ] {
            for ground in [p.paper, p.panel] {
                for text in [p.ink, p.faint, p.danger, p.caution] {
                    // WCAG 2.2, success criterion 1.4.3: 4.5:1 for text.
                    let contrast = text.contrast(ground);
                    assert!(
                        contrast >= 4.5,
                        "{name}: {} on {}: {contrast:.2}",
                        text.css(),
                        ground.css()
                    );
                }
                // 1.4.11: 3:1 for what a drawing needs to be understood.
                assert!(
                    p.bar.contrast(ground) >= 3.0,
                    "{name} bar: {:.2}",
                    p.bar.contrast(ground)
                );
            }
        }
    }

    #[test]
    fn the_night_has_no_blue_and_hardly_any_green() {
        let p = Palette::NIGHT;
        for colour in [
            p.paper, p.ink, p.faint, p.rule, p.danger, p.caution, p.bar, p.panel,
        ] {
            assert_eq!(colour.2, 0);
            assert!(u32::from(colour.1) * 3 <= u32::from(colour.0), "{}", colour.css());
        }
    }
}
