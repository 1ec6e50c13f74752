//! An invented morning for the tests: warm, calm, all feeds there, nothing to be cautious of.

use chrono::{DateTime, Duration, Utc};

use crate::column::{ProfileBasis, RiverWater, Water, ZoneWater};
use crate::conditions::outlook::{LevelDay, LevelOutlook, LevelProjection, OutlookBasis};
use crate::conditions::*;
use crate::lake::*;
use crate::plan::{Caution, CautionLevel, Hazard, OfficialAlerts, cautions, official_alerts, ramps};
use crate::quantity::Quantity;
use crate::series::Alert;

pub(crate) struct Morning {
    pub lake: Lake,
    pub conditions: Conditions,
    pub water: Water,
    pub alerts: OfficialAlerts,
    pub as_of: DateTime<Utc>,
}

impl Morning {
    pub(crate) fn calm() -> Morning {
        let as_of: DateTime<Utc> = "2025-07-24T13:30:00Z".parse().unwrap();
        let mut morning = Morning {
            lake: lake(),
            conditions: conditions(as_of),
            water: water(as_of),
            alerts: official_alerts(&lake(), None, as_of),
            as_of,
        };
        morning.set_wind(2.0, Some(4.0), Some(0.0));
        morning.set_surface(24.0);
        morning
    }

    pub(crate) fn without_feeds() -> Morning {
        let mut morning = Morning::calm();
        let c = &mut morning.conditions;
        (c.pool, c.storage_m3, c.wind, c.light, c.sky, c.surface) = (None, None, None, None, None, None);
        c.inflows.clear();
        c.river_temps.clear();
        morning.water.zones.clear();
        morning.water.rivers.clear();
        morning
    }

    pub(crate) fn cautions(&self) -> Vec<Caution> {
        let ramps = ramps(&self.lake, &self.conditions);
        cautions(
            &self.lake,
            &self.conditions,
            &self.water,
            &ramps,
            &self.alerts,
            self.as_of,
        )
    }

    pub(crate) fn caution(&self, hazard: Hazard) -> Option<Caution> {
        self.cautions().into_iter().find(|c| c.hazard == hazard)
    }

    pub(crate) fn level_of(&self, hazard: Hazard) -> Option<CautionLevel> {
        self.caution(hazard).map(|c| c.level)
    }

    pub(crate) fn pool(&mut self) -> &mut PoolCondition {
        self.conditions.pool.as_mut().unwrap()
    }

    pub(crate) fn sky(&mut self) -> &mut SkyCondition {
        self.conditions.sky.as_mut().unwrap()
    }

    pub(crate) fn light(&mut self) -> &mut LightCondition {
        self.conditions.light.as_mut().unwrap()
    }

    pub(crate) fn set_level(&mut self, elevation_m: f64) {
        self.pool().elevation_m = elevation_m;
    }

    /// The levels of the members, day by day from the day of `as_of`.
    pub(crate) fn set_members(&mut self, members_m: &[Vec<f64>]) {
        let mut sorted_m = members_m.to_vec();
        sorted_m.iter_mut().for_each(|day| day.sort_by(f64::total_cmp));
        let day = |(i, levels_m): (i64, &Vec<f64>)| {
            let at = self.as_of + Duration::days(i);
            let median_m = levels_m[levels_m.len() / 2];
            LevelDay {
                date: at.date_naive(),
                at,
                median_m,
                low_m: levels_m[0],
                high_m: levels_m[levels_m.len() - 1],
                at_crest_frac: 0.0,
                at_dead_pool_frac: 0.0,
            }
        };
        let outlook = LevelOutlook {
            basis: OutlookBasis::SlopePersistence { slope_m_per_day: 0.0 },
            river_forecasts: Vec::new(),
            members: sorted_m[0].len(),
            days: (0..).zip(&sorted_m).map(day).collect(),
        };
        self.conditions.level_projection = Some(LevelProjection {
            outlook,
            sorted_m,
            first_members_m: Vec::new(),
            gauged: None,
        });
    }

    pub(crate) fn set_level_age_h(&mut self, age_h: f64) {
        let time = self.as_of - Duration::seconds((age_h * 3600.0) as i64);
        self.pool().observed_at = time;
        let input = &mut self.conditions.inputs[0];
        (input.newest, input.age_h) = (Some(time), Some(age_h));
        input.late = input.late_after_h.is_some_and(|after_h| age_h > after_h);
    }

    pub(crate) fn set_change_7d(&mut self, change_m: f64) {
        self.pool().change_7d = Some(Change { change_m, sd_m: 0.01 });
    }

    pub(crate) fn set_wind(&mut self, speed_m_s: f64, gust_m_s: Option<f64>, direction_deg: Option<f64>) {
        let (from, to) = (self.as_of, self.as_of + Duration::hours(8));
        self.conditions.wind = Some(WindCondition {
            from,
            to,
            speed_max_m_s: speed_m_s,
            gust_max_m_s: gust_m_s,
            direction_deg,
            hours: Vec::new(),
            members: 10,
            issued_at: self.as_of,
        });
    }

    /// Hours of the wind from `as_of` on: mean, gust, direction.
    pub(crate) fn set_wind_hours(&mut self, hours: &[(f64, f64, Option<f64>)]) {
        let from = self.as_of;
        let hour = |(h, &(speed_m_s, gust_m_s, direction_deg))| WindHour {
            time: from + Duration::hours(h),
            speed_m_s,
            gust_m_s: Some(gust_m_s),
            direction_deg,
            speed_high_m_s: Some(speed_m_s),
            gust_high_m_s: Some(gust_m_s),
        };
        self.conditions.wind.as_mut().unwrap().hours = (0..).zip(hours).map(hour).collect();
    }

    /// Every water of the lake as warm as that at its surface.
    pub(crate) fn set_surface(&mut self, temp_degc: f64) {
        for zone in &mut self.water.zones {
            zone.temp_degc.iter_mut().for_each(|member| member[0] = temp_degc);
        }
        self.water
            .rivers
            .iter_mut()
            .for_each(|r| r.temp_degc.fill(temp_degc));
    }

    pub(crate) fn set_highest_ratio(&mut self, inflow: usize, ratio: f64) {
        let date = self.as_of.date_naive();
        self.conditions.inflows[inflow].highest_10d = Some(RatioPeak { date, ratio });
    }
}

fn lake() -> Lake {
    let zone = |id: &str, name: &str, kind, fetch: Vec<(f64, f64)>| Zone {
        id: ZoneId::new(id),
        name: name.to_owned(),
        kind,
        above: (kind == ZoneKind::River).then(|| ZoneId::new("sorrel")),
        inflow: None,
        area_share: Vec::new(),
        thalweg: Vec::new(),
        orientation_deg: None,
        fetch,
        outline: Vec::new(),
    };
    let fetch = vec![(0.0, 2000.0), (180.0, 2000.0)];
    Lake {
        id: "invented".to_owned(),
        name: "Invented Reservoir".to_owned(),
        note: None,
        latitude_deg: 42.2,
        longitude_deg: -119.6,
        time_zone: chrono_tz::America::Los_Angeles,
        contact: None,
        vertical_datum: "NAVD 88".to_owned(),
        full_pool_elevation_m: 257.6,
        minimum_pool_elevation_m: 222.8,
        hypsography: None,
        hypsography_table: None,
        zones: vec![
            zone("main", "main body", ZoneKind::MainBody, fetch.clone()),
            zone("sorrel", "Sorrel Arm", ZoneKind::Arm, fetch),
            zone("sorrel-river", "Sorrel River", ZoneKind::River, Vec::new()),
        ],
        stretches: Vec::new(),
        ramps: vec![Ramp {
            id: "dam-road".to_owned(),
            name: "Dam Road".to_owned(),
            zone: ZoneId::new("main"),
            toe_elevation_m: 229.5,
            position: None,
            lanes: Vec::new(),
        }],
        inflows: vec![Inflow {
            id: InflowId::new("sorrel"),
            name: "Sorrel River".to_owned(),
            enters: ZoneId::new("sorrel"),
            flow: InflowFlow::Series,
            regulated: false,
            thermal_regime: ThermalRegime::SnowFed,
            mean_flow_m3s: Some(17.0),
        }],
        outlets: Vec::new(),
        hazards: vec![crate::lake::Hazard {
            id: "sunken-rock".to_owned(),
            name: "the sunken rock".to_owned(),
            zone: ZoneId::new("main"),
            kind: HazardKind::Rock,
            top_elevation_m: 240.0,
            position: None,
        }],
        clarity: None,
        oxygen: None,
        species: Vec::new(),
        stocking: Vec::new(),
        planned_release: Vec::new(),
        ladder: Vec::new(),
        boat: Some(Boat {
            launch_depth_m: 0.9,
            running_depth_m: 0.9,
            run_speed_m_s: 8.0,
            slow_speed_m_s: None,
            trip_h: 6.0,
            ball_kg: None,
            cable_diameter_m: None,
            cable_kind: None,
        }),
        series: vec![level_gauge()],
        water_readings: None,
        official_alerts: None,
        model_factors: Vec::new(),
        turnover: None,
        notices: Vec::new(),
        horizon: Vec::new(),
        links: crate::lake::Links::default(),
        hindcast: None,
    }
}

/// The gauge of the level, and its entry among the inputs: it may be 6 h old.
fn level_gauge() -> SeriesSource {
    SeriesSource {
        cadences: vec![Cadence::Continuous],
        late_after_h: Some(6.0),
        ..SeriesSource::of("pool", Quantity::PoolElevation, "csv", "")
    }
}

fn level_input(as_of: DateTime<Utc>) -> InputAge {
    InputAge {
        series: "pool".to_owned(),
        quantity: Quantity::PoolElevation,
        place: SeriesPlace::Lake,
        cadence: "continuous".to_owned(),
        service: "csv".to_owned(),
        station: String::new(),
        newest: Some(as_of),
        age_h: Some(0.0),
        late_after_h: Some(6.0),
        late: false,
        worst_flag_24h: None,
        refused_60d: 0,
        suspect_60d: 0,
        provisional_60d_frac: None,
    }
}

fn conditions(as_of: DateTime<Utc>) -> Conditions {
    let change = |change_m| Some(Change { change_m, sd_m: 0.01 });
    Conditions {
        as_of,
        pool: Some(PoolCondition {
            elevation_m: 250.0,
            observed_at: as_of,
            change_1d: change(0.0),
            change_7d: change(0.0),
            change_30d: change(0.0),
            slope_7d_m_per_day: Some(0.0),
            highest_60d_m: Some(251.0),
            percentile_for_date_frac: Some(0.5),
        }),
        storage_m3: None,
        storage_observed_at: None,
        level_projection: None,
        balance: BalanceCondition::default(),
        inflows: vec![InflowCondition {
            inflow: InflowId::new("sorrel"),
            zone: ZoneId::new("sorrel"),
            discharge_m3s: 10.0,
            observed_at: as_of,
            baseflow_m3s: Some(9.0),
            ratio: Some(1.1),
            ratio_basis: RatioBasis::EckhardtBaseflow,
            pulse: None,
            highest_10d: None,
            mean_m3s: Some(17.0),
            change_7d_m3s: Some(0.0),
            flashiness_frac: None,
            step: None,
        }],
        surface: None,
        river_temps: Vec::new(),
        turbidities: Vec::new(),
        wind: None,
        light: Some(LightCondition {
            civil_dawn: Some(as_of - Duration::hours(1)),
            sunrise: Some(as_of - Duration::minutes(30)),
            sunset: Some(as_of + Duration::hours(14)),
            civil_dusk: Some(as_of + Duration::minutes(870)),
        }),
        sky: Some(SkyCondition {
            visibility_min_m: Some(20_000.0),
            thunder_max_prob: Some(0.0),
            precipitation_m: Some(0.0),
            air_temp_min_degc: Some(15.0),
            air_temp_max_degc: Some(30.0),
            air_hours: Vec::new(),
            fog_likely: Some(false),
        }),
        inputs: vec![level_input(as_of)],
        forage: Vec::new(),
        source_choices: Vec::new(),
        gaps: Vec::new(),
    }
}

fn water(as_of: DateTime<Utc>) -> Water {
    let members = 10;
    let zone = |id: &str| ZoneWater {
        zone: ZoneId::new(id),
        depth_m: vec![0.0, 10.0, 30.0],
        area_m2: None,
        temp_degc: vec![vec![24.0, 15.0, 8.0]; members],
        oxygen_mg_l: None,
        parts: Vec::new(),
        max_depth_m: Some(30.0),
        volume_m3: None,
        basis: ProfileBasis::SurfaceMeasured { observed_at: as_of },
        closed: false,
    };
    Water {
        members,
        zones: vec![zone("main"), zone("sorrel")],
        rivers: vec![RiverWater {
            inflow: InflowId::new("sorrel"),
            temp_degc: vec![24.0; members],
            measured: true,
        }],
        river_ways: Vec::new(),
        columns: None,
        surface_outlook: Vec::new(),
        days_ahead: Vec::new(),
        surface_fit: None,
        seams: Vec::new(),
        gaps: Vec::new(),
    }
}

/// An alert of this name that begins at `begins` and ends so many hours later.
pub(crate) fn alert(event: &str, begins: DateTime<Utc>, lasts_h: Option<i64>) -> Alert {
    Alert {
        id: "urn:invented".to_owned(),
        url: None,
        event: event.to_owned(),
        headline: None,
        description: None,
        instruction: None,
        area: None,
        sender: None,
        severity: None,
        sent_at: begins,
        onset: Some(begins),
        ends: lasts_h.map(|hours| begins + Duration::hours(hours)),
        expires: None,
    }
}
