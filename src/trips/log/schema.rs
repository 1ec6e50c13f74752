//! The tables, as steps from one form to the next. A step that was ever published is never changed.
//!
//! The SQL of reading and writing is such that another database takes it as well: numbers are given by us, instants and days
//! are texts in ISO 8601, and no date function of SQLite is used.

use rusqlite_migration::{M, Migrations};

/// Form 1.
const FORM_1: &str = "
create table trips (
    number integer not null primary key check (number > 0)
) strict;
create table versions (
    number integer not null references trips (number),
    version integer not null check (version > 0),
    recorded_at text not null,
    removed integer not null check (removed in (0, 1)),
    date text not null,
    origin text not null,
    note text,
    primary key (number, version)
) strict;
create table legs (
    number integer not null,
    version integer not null,
    leg integer not null check (leg > 0),
    zone text not null,
    stretch text,
    start text,
    duration_h real not null check (duration_h > 0),
    rods integer check (rods > 0),
    depth_m real check (depth_m >= 0),
    speed_m_s real check (speed_m_s >= 0),
    drift_m_s real check (drift_m_s >= 0),
    drift_deg real,
    presentation text,
    reason text,
    light text,
    catch_known integer not null check (catch_known in (0, 1)),
    primary key (number, version, leg),
    foreign key (number, version) references versions (number, version)
) strict;
create table catches (
    number integer not null,
    version integer not null,
    leg integer not null,
    entry integer not null check (entry > 0),
    species text not null,
    count integer not null check (count >= 0),
    released integer check (released >= 0 and released <= count),
    length_m real check (length_m > 0),
    depth_m real check (depth_m >= 0),
    primary key (number, version, leg, entry),
    foreign key (number, version, leg) references legs (number, version, leg)
) strict;
create table marks (
    number integer not null,
    version integer not null,
    entry integer not null check (entry > 0),
    zone text not null,
    time text,
    kind text not null,
    depth_m real not null check (depth_m >= 0),
    count integer check (count > 0),
    primary key (number, version, entry),
    foreign key (number, version) references versions (number, version)
) strict;
create table readings (
    number integer not null,
    version integer not null,
    entry integer not null check (entry > 0),
    zone text not null,
    time text,
    instrument text not null,
    depth_m real not null check (depth_m >= 0),
    temp_degc real,
    temp_error_degc real,
    oxygen_mg_l real,
    oxygen_error_mg_l real,
    secchi_m real,
    primary key (number, version, entry),
    foreign key (number, version) references versions (number, version)
) strict;
";

/// All steps.
pub(super) fn migrations() -> Migrations<'static> {
    Migrations::new(vec![M::up(FORM_1)])
}

#[cfg(test)]
mod tests {
    #[test]
    fn every_step_can_be_taken() {
        super::migrations().validate().unwrap();
    }
}
