//! Distances between positions.

/// Mean radius of the Earth, metres (IUGG, from memory).
const EARTH_RADIUS_M: f64 = 6_371_009.0;

/// Great-circle distance of two positions, latitude and longitude in degrees (haversine).
pub fn distance_m(a: (f64, f64), b: (f64, f64)) -> f64 {
    let (lat_a, lat_b) = (a.0.to_radians(), b.0.to_radians());
    let half_lat = 0.5 * (lat_b - lat_a);
    let half_lon = 0.5 * (b.1 - a.1).to_radians();
    let h = half_lat.sin().powi(2) + lat_a.cos() * lat_b.cos() * half_lon.sin().powi(2);
    2.0 * EARTH_RADIUS_M * h.sqrt().min(1.0).asin()
}
