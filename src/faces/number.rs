//! Numbers as text, with a decimal point and a comma between thousands: [`super::reader::Reader`] writes them with the reader's own mark.

/// Percent of a share, whole.
pub fn percent(share_frac: f64) -> String {
    format!("{} %", rounded(share_frac * 100.0, 0))
}

/// A probability in percent, whole; one that rounds to certainty is said to be near it.
pub fn chance(prob: f64) -> String {
    match rounded(prob * 100.0, 0).as_str() {
        "0" => "under 1 %".to_owned(),
        "100" => "over 99 %".to_owned(),
        whole => format!("{whole} %"),
    }
}

/// A number rounded to so many places, never "-0".
pub fn rounded(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    if text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.') {
        text.trim_start_matches('-').to_owned()
    } else {
        text
    }
}

/// A number with its sign, rounded; zero carries none.
pub fn signed(value: f64, places: usize) -> String {
    let text = rounded(value, places);
    if text.starts_with('-') || text.chars().all(|c| c == '0' || c == '.') {
        text
    } else {
        format!("+{text}")
    }
}

/// A positive number to three significant figures, with a comma between thousands.
pub fn significant(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return rounded(value, 0);
    }
    let digits = value.abs().log10().floor() as i32;
    let places = (2 - digits).max(0) as usize;
    if digits > 2 {
        let step = 10f64.powi(digits - 2);
        thousands((value / step).round() * step)
    } else {
        rounded(value, places.min(2))
    }
}

/// A whole number with a comma between thousands.
pub fn thousands(value: f64) -> String {
    let text = rounded(value, 0);
    let (sign, digits) = match text.strip_prefix('-') {
        Some(rest) => ("-", rest),
        None => ("", text.as_str()),
    };
    let mut out = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    format!("{sign}{out}")
}

/// An age in the unit that fits it.
pub fn age(age_h: f64) -> String {
    if age_h < 1.0 {
        format!("{} min", rounded(age_h * 60.0, 0))
    } else if age_h < 48.0 {
        format!("{} h", rounded(age_h, 0))
    } else {
        format!("{} days", rounded(age_h / 24.0, 0))
    }
}

/// Compass point of a direction, sixteen points.
pub fn compass(direction_deg: f64) -> &'static str {
    const POINTS: [&str; 16] = [
        "N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW",
    ];
    let index = (direction_deg.rem_euclid(360.0) / 22.5).round() as usize % 16;
    POINTS[index]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_round_without_a_negative_zero() {
        assert_eq!(rounded(-0.04, 1), "0.0");
        assert_eq!(signed(0.04, 1), "0.0");
        assert_eq!(signed(2.26, 1), "+2.3");
        assert_eq!(signed(-2.26, 1), "-2.3");
    }

    #[test]
    fn discharges_keep_three_figures() {
        assert_eq!(significant(12_345.0), "12,300");
        assert_eq!(significant(618.4), "618");
        assert_eq!(significant(12.34), "12.3");
        assert_eq!(significant(1.234), "1.23");
        assert_eq!(significant(0.0), "0");
    }

    #[test]
    fn thousands_are_parted() {
        assert_eq!(thousands(1_234_567.0), "1,234,567");
        assert_eq!(thousands(-1_234.0), "-1,234");
        assert_eq!(thousands(12.0), "12");
    }

    #[test]
    fn directions_have_names() {
        assert_eq!(compass(0.0), "N");
        assert_eq!(compass(359.0), "N");
        assert_eq!(compass(225.0), "SW");
        assert_eq!(compass(-90.0), "W");
    }
}
