//! Species, stocking, the presentation ladder, the boat, and pages to look at.

use super::block::{Block, plain, quote};
use super::known::Known;
use super::places::{all, near_lake, unique};
use crate::lake::{Boat, CableKind, LakeSpecies, Links, Presentation, SpeciesId, Stocking, ZoneId};
use crate::units::M_S_PER_MPH;

/// All species; `None` where one of them is faulty.
pub(super) fn read_species(root: &Block<'_, '_>) -> Option<Vec<LakeSpecies>> {
    let mut ids = Vec::new();
    let read = |block: &Block<'_, '_>| {
        let id = block.id("id");
        ids.extend(id.clone());
        let mature_frac = block.number("mature_frac").map(|at| at.value);
        Some(LakeSpecies {
            id: SpeciesId::new(id?.value),
            mature_frac,
        })
    };
    let list = all(root.blocks("species").iter().map(read));
    unique(root.faults, "species", ids.iter());
    list
}

/// All releases; `None` where one of them is faulty.
pub(super) fn read_stocking(root: &Block<'_, '_>, known: &Known<'_>) -> Option<Vec<Stocking>> {
    let read = |block: &Block<'_, '_>| {
        let species = block.reference("species", &known.ids("species"));
        let date = block.date("date");
        let zone = block.reference("zone", &known.ids("zones"));
        let position = block.position("position");
        if let Some(position) = &position {
            near_lake(block, position, known);
        }
        let count = block.whole("count");
        Some(Stocking {
            species: SpeciesId::new(species?.value),
            date: date?.value,
            zone: ZoneId::new(zone?.value),
            position: position.map(|at| at.value),
            count: count?.value,
        })
    };
    all(root.blocks("stocking").iter().map(read))
}

/// All rungs of the ladder, in the order of the file; `None` where one of them is faulty.
pub(super) fn read_ladder(root: &Block<'_, '_>, known: &Known<'_>) -> Option<Vec<Presentation>> {
    let read = |block: &Block<'_, '_>| {
        let species = block.references("species", &known.ids("species"));
        let what = block.text("what");
        let (slow, fast) = (block.measure("speed_min"), block.measure("speed_max"));
        if let (Some(slow), Some(fast)) = (&slow, &fast)
            && fast.value < slow.value
        {
            let mph = |speed_m_s: f64| {
                format!(
                    "{} mph ({} m/s)",
                    plain(speed_m_s / M_S_PER_MPH),
                    plain(speed_m_s)
                )
            };
            let found = format!("a fast end of {}", mph(fast.value));
            block.fault(
                &fast.span,
                found,
                format!("at least the slow end, {}", mph(slow.value)),
                "swap the two",
            );
        }
        let lead_m = block.measure("lead").map(|at| at.value);
        let blade_m = block.measure("blade").map(|at| at.value);
        let note = block.text("note").map(|at| at.value);
        let (move_on, basis) = (block.text("move_on"), block.text("basis"));
        Some(Presentation {
            species: species?.value.into_iter().map(SpeciesId::new).collect(),
            what: what?.value,
            speed_min_m_s: slow?.value,
            speed_max_m_s: fast?.value,
            lead_m,
            blade_m,
            note,
            move_on: move_on?.value,
            basis: basis?.value,
        })
    };
    all(root.blocks("ladder").iter().map(read))
}

/// The boat.
pub(super) fn read_boat(block: &Block<'_, '_>) -> Option<Boat> {
    let (launch, running) = (block.measure("launch_depth"), block.measure("running_depth"));
    let (speed, trip) = (block.measure("run_speed"), block.number("trip_h"));
    let slow_speed_m_s = block.measure("slow_speed").map(|at| at.value);
    let ball_kg = block.measure("ball").map(|at| at.value);
    let cable_diameter_m = block.measure("cable_diameter").map(|at| at.value);
    let cable_kind = block.word("cable_kind").map(|word| match word.value {
        "smooth" => CableKind::Smooth,
        "braid" => CableKind::Braid,
        _ => CableKind::Stranded,
    });
    Some(Boat {
        launch_depth_m: launch?.value,
        running_depth_m: running?.value,
        run_speed_m_s: speed?.value,
        slow_speed_m_s,
        trip_h: trip?.value,
        ball_kg,
        cable_diameter_m,
        cable_kind,
    })
}

/// Pages to look at; `None` where an address is faulty.
pub(super) fn read_links(block: &Block<'_, '_>) -> Option<Links> {
    let page = |stem: &str| -> Option<Option<String>> {
        let Some(address) = block.text(stem) else {
            return Some(None);
        };
        if !address.value.starts_with("https://") && !address.value.starts_with("http://") {
            let found = format!("{stem} = {}", quote(&address.value));
            let mend = "copy the address of the page from the browser";
            block.fault(&address.span, found, "an address that begins with https://", mend);
            return None;
        }
        Some(Some(address.value))
    };
    let (algae, fish_advisory) = (page("algae"), page("fish_advisory"));
    let (rules, operator) = (page("rules"), page("operator"));
    Some(Links {
        algae: algae?,
        fish_advisory: fish_advisory?,
        rules: rules?,
        operator: operator?,
    })
}
