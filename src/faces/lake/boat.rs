//! The boat of a lake file and what is towed behind it, as they were understood.

use super::page::Page;
use crate::faces::{Reader, words};
use crate::lake::Boat;

/// Writes them.
pub(super) fn boat(page: &mut Page, boat: Option<&Boat>, reader: &Reader) {
    page.titled("Boat", boat.is_none());
    let Some(boat) = boat else { return };
    let slow = boat.slow_speed_m_s.map_or_else(String::new, |slow_m_s| {
        format!(" ({} in the dark)", reader.speed(slow_m_s))
    });
    page.line(&format!(
        "floats in {}, runs in {}, {} from the ramp{slow}, {} h a trip",
        reader.elevation(boat.launch_depth_m),
        reader.elevation(boat.running_depth_m),
        reader.speed(boat.run_speed_m_s),
        boat.trip_h
    ));
    if let (Some(ball_kg), Some(cable_diameter_m)) = (boat.ball_kg, boat.cable_diameter_m) {
        let kind = boat
            .cable_kind
            .map_or_else(String::new, |kind| format!(", {}", words::cable(kind)));
        page.line(&format!(
            "ball of {} on a cable of {}{kind}",
            reader.mass(ball_kg),
            reader.wire(cable_diameter_m)
        ));
    }
}
