//! Inflows.

use toml::de::DeValue;

use super::block::{Block, describe, quote};
use super::known::Known;
use super::places::{all, pool_zone, unique};
use crate::lake::{Inflow, InflowFlow, InflowId, ThermalRegime, ZoneId};

/// All inflows; `None` where one of them is faulty.
pub(super) fn read_inflows(root: &Block<'_, '_>, known: &Known<'_>) -> Option<Vec<Inflow>> {
    let mut ids = Vec::new();
    let read = |block: &Block<'_, '_>| {
        let (id, name) = (block.id("id"), block.text("name"));
        ids.extend(id.clone());
        let enters = pool_zone(block, "enters", known);
        let flow = read_flow(block, id.as_ref().map(|id| id.value.as_str()), known);
        let regulated = block.flag("regulated");
        let thermal_regime = block.word("thermal_regime").map(|word| match word.value {
            "lowland" => ThermalRegime::Lowland,
            "regulated" => ThermalRegime::Regulated,
            _ => ThermalRegime::SnowFed,
        });
        let mean_flow_m3s = block.measure("mean_flow").map(|at| at.value);
        Some(Inflow {
            id: InflowId::new(id?.value),
            name: name?.value,
            enters: ZoneId::new(enters?.value),
            flow: flow?,
            regulated: regulated?.value,
            thermal_regime: thermal_regime?,
            mean_flow_m3s,
        })
    };
    let list = all(root.blocks("inflows").iter().map(read));
    unique(root.faults, "inflows", ids.iter());
    list
}

fn read_flow(block: &Block<'_, '_>, id: Option<&str>, known: &Known<'_>) -> Option<InflowFlow> {
    let raw = block.raw("flow")?;
    let span = raw.span();
    match raw.get_ref() {
        DeValue::String(text) if text == "series" => {
            if let Some(id) = id
                && !known.flow_series.iter().any(|inflow| inflow == id)
                && !known.hindcast_rivers.iter().any(|inflow| inflow == id)
            {
                let found = format!(
                    "flow = \"series\", but no series of quantity \"inflow\" for {}",
                    quote(id)
                );
                let mend = format!(
                    "add [[series]] with quantity = \"inflow\" and inflow = {}",
                    quote(id)
                );
                block.fault(&span, found, "the series that gauges it", mend);
            }
            Some(InflowFlow::Series)
        }
        DeValue::Table(table) => {
            let inner = Block::new(block.faults, "inflows.flow", table, span);
            let (gauge, factor) = (
                inner.reference("gauge", &known.ids("inflows")),
                inner.number("factor"),
            );
            let gauge = gauge?;
            if !known.gauged.contains(&gauge.value) {
                let found = format!("gauge = {}, which has no series itself", quote(&gauge.value));
                let mend = "name an inflow whose flow = \"series\"";
                block.fault(&gauge.span, found, "an inflow with a series of its own", mend);
            }
            Some(InflowFlow::FromGauge {
                gauge: InflowId::new(gauge.value),
                factor: factor?.value,
            })
        }
        other => {
            let mend = "write flow = \"series\", or flow = { gauge = \"...\", factor = ... }";
            block.fault(
                &span,
                format!("flow = {}", describe(other)),
                "\"series\", or a table with gauge and factor",
                mend,
            );
            None
        }
    }
}
