//! Where a series is measured: place, depth, datum.

use crate::lake::file::block::Block;
use crate::lake::file::known::Known;
use crate::lake::{InflowId, SeriesPlace, ZoneId};
use crate::quantity::Quantity;

/// Where a quantity is measured.
#[derive(PartialEq)]
enum Belongs {
    Lake,
    Zone,
    Inflow,
    Either,
}

fn belongs(quantity: Quantity) -> Belongs {
    match quantity {
        Quantity::WaterTemp | Quantity::DissolvedOxygen => Belongs::Zone,
        Quantity::Inflow | Quantity::RiverTemp => Belongs::Inflow,
        Quantity::Turbidity => Belongs::Either,
        Quantity::PoolElevation
        | Quantity::Storage
        | Quantity::Release
        | Quantity::Evaporation
        | Quantity::AirTemp
        | Quantity::DewPoint
        | Quantity::RelativeHumidity
        | Quantity::VapourPressure
        | Quantity::WindSpeed
        | Quantity::WindGust
        | Quantity::WindDirection
        | Quantity::CloudCover
        | Quantity::SurfacePressure
        | Quantity::Precipitation
        | Quantity::Shortwave
        | Quantity::Longwave
        | Quantity::Visibility
        | Quantity::ThunderProbability => Belongs::Lake,
    }
}

pub(super) fn read_place(
    block: &Block<'_, '_>,
    quantity: Option<Quantity>,
    known: &Known<'_>,
) -> Option<SeriesPlace> {
    let (zone, inflow) = (
        block.reference("zone", &known.ids("zones")),
        block.reference("inflow", &known.ids("inflows")),
    );
    let Some(quantity) = quantity else {
        return None; // noted; what place it needs is not known
    };
    let word = quantity.word();
    match belongs(quantity) {
        Belongs::Lake => {
            for stem in ["zone", "inflow"] {
                block.refuse(stem, &format!("no place: {word} is of the whole lake"));
            }
            Some(SeriesPlace::Lake)
        }
        Belongs::Zone => {
            block.refuse("inflow", &format!("a zone: {word} is of the lake's water"));
            if !block.has("zone") {
                block.missing("zone", &format!("since the quantity is {word}"));
            }
            zone.map(|zone| SeriesPlace::Zone(ZoneId::new(zone.value)))
        }
        Belongs::Inflow => {
            block.refuse("zone", &format!("an inflow: {word} is of a river"));
            if !block.has("inflow") {
                block.missing("inflow", &format!("since the quantity is {word}"));
            }
            inflow.map(|inflow| SeriesPlace::Inflow(InflowId::new(inflow.value)))
        }
        Belongs::Either => {
            match (block.has("zone"), block.has("inflow")) {
                (true, true) => block.refuse("zone", "a zone or an inflow, not both"),
                (false, false) => block.missing("inflow", &format!("or zone, since the quantity is {word}")),
                _ => {}
            }
            let inflow = inflow.map(|inflow| SeriesPlace::Inflow(InflowId::new(inflow.value)));
            inflow.or(zone.map(|zone| SeriesPlace::Zone(ZoneId::new(zone.value))))
        }
    }
}

pub(super) fn check_depth(block: &Block<'_, '_>, quantity: Option<Quantity>) {
    let Some(quantity) = quantity else { return };
    if belongs(quantity) != Belongs::Zone {
        if quantity != Quantity::Turbidity {
            block.refuse("depth", &format!("no depth: {} has none", quantity.word()));
        }
        return;
    }
    let column = block.peek("csv").is_some_and(|csv| csv.contains_key("depth"));
    match (block.has("depth"), column) {
        (false, false) => block.missing("depth", &format!("since the quantity is {}", quantity.word())),
        (true, true) => block.refuse("depth", "a depth or a column of depths, not both"),
        _ => {}
    }
}

pub(super) fn check_datum(block: &Block<'_, '_>, quantity: Option<Quantity>) {
    match quantity {
        Some(Quantity::PoolElevation) => {
            if !block.has("datum_offset") {
                block.missing("datum_offset", "since the quantity is pool_elevation");
            } else if !block.has("datum_source") {
                block.missing("datum_source", "since an offset is given");
            }
        }
        Some(other) => {
            for stem in ["datum_offset", "datum_source"] {
                block.refuse(stem, &format!("no datum: {} is no elevation", other.word()));
            }
        }
        None => {}
    }
}
