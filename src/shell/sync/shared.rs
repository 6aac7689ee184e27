//! The shared record: its tables, and parcels in and out of them.

use std::collections::BTreeMap;
use std::time::Duration;

use postgres::{Client, Config, IsolationLevel, NoTls, Row};

use super::SyncError;
use crate::record::header::Moment;
use crate::shell::store::Link;
use crate::shell::store::exchange::{Head, Parcel, Site};
use crate::shell::store::sealed::{Personal, Sealed, forgets};

/// A connection to the shared record.
pub struct Shared {
    client: Client,
}

/// The layout that this program knows.
const LAYOUT: i32 = 1;
/// The lock under which tables are made: "Lead" in ASCII.
const MAKING: i64 = 0x4C65_6164;
/// How long to wait for a connection.
const PATIENCE: Duration = Duration::from_secs(10);

impl Shared {
    /// Connects to `postgres://user@host/database`, and makes the tables if they are not there.
    ///
    /// The connection itself is not encrypted: reach another machine through a tunnel or a private network.
    pub fn open(address: &str) -> Result<Self, SyncError> {
        let unreachable = |why: postgres::Error| SyncError::Unreachable { why: chain(&why) };
        let mut config: Config = address.parse().map_err(unreachable)?;
        config.connect_timeout(PATIENCE).application_name("leadhand");
        let mut client = config.connect(NoTls).map_err(unreachable)?;
        let mut making = client.transaction()?;
        making.execute("SELECT pg_advisory_xact_lock($1)", &[&MAKING])?;
        let there: bool = making.query_one("SELECT to_regclass('leadhand_layout') IS NOT NULL", &[])?.get(0);
        if !there {
            making.batch_execute(include_str!("shared.sql"))?;
        }
        let found: i32 = making.query_one("SELECT version FROM leadhand_layout", &[])?.get(0);
        making.commit()?;
        if found > LAYOUT {
            return Err(SyncError::Newer { found, known: LAYOUT });
        }
        Ok(Self { client })
    }

    /// How far every job has come.
    pub fn heads(&mut self) -> Result<Vec<Head>, SyncError> {
        let sql = "SELECT j.site, j.number, coalesce(e.number, 0), coalesce(e.hash, j.hash)
            FROM leadhand_job j LEFT JOIN LATERAL (
                SELECT number, hash FROM leadhand_entry WHERE site = j.site AND job = j.number ORDER BY number DESC LIMIT 1
            ) e ON true";
        self.client.query(sql, &[])?.iter().map(head).collect()
    }

    /// Adds what is not there yet, all of it or nothing; how many entries were new.
    pub fn put(&mut self, parcels: &[Parcel]) -> Result<u64, SyncError> {
        if parcels.is_empty() {
            return Ok(0);
        }
        let mut tx = self.client.transaction()?;
        for parcel in parcels {
            tx.execute(
                "INSERT INTO leadhand_site (uid, name) VALUES ($1, $2) ON CONFLICT (uid) DO UPDATE SET name = $2
                 WHERE leadhand_site.name <> $2 AND $2 <> ''",
                &[&bytes(parcel.site), &parcel.name],
            )?;
            tx.execute(
                "INSERT INTO leadhand_job (site, number, opened_ms, offset_minutes, previous, hash)
                 VALUES ($1, $2, $3, $4, $5, $6) ON CONFLICT DO NOTHING",
                &[
                    &bytes(parcel.site),
                    &(parcel.number as i32),
                    &parcel.opened.unix_ms,
                    &parcel.opened.offset_minutes,
                    &parcel.previous.bytes().as_slice(),
                    &parcel.hash.bytes().as_slice(),
                ],
            )?;
        }
        let new = put_entries(&mut tx, parcels)?;
        for parcel in parcels {
            if parcel.entries.iter().any(|(sealed, _)| sealed.open().is_ok_and(|entry| forgets(&entry))) {
                let sql = "DELETE FROM leadhand_personal WHERE site = $1 AND job = $2";
                tx.execute(sql, &[&bytes(parcel.site), &(parcel.number as i32)])?;
            }
        }
        tx.commit()?;
        Ok(new)
    }

    /// Jobs of a site, each with its entries from a number on, as they stand at one moment.
    pub fn get(&mut self, site: Site, wanted: &[(u32, u32)]) -> Result<Vec<Parcel>, SyncError> {
        let (jobs, firsts): (Vec<i32>, Vec<i32>) =
            wanted.iter().map(|(job, first)| (*job as i32, *first as i32)).unzip();
        let mut tx = self
            .client
            .build_transaction()
            .isolation_level(IsolationLevel::RepeatableRead)
            .read_only(true)
            .start()?;
        let site_bytes = bytes(site);
        let rows = tx.query(
            "SELECT number, opened_ms, offset_minutes, previous, hash, name FROM leadhand_job JOIN leadhand_site ON uid = site
             WHERE site = $1 AND number = ANY($2) ORDER BY number",
            &[&site_bytes, &jobs],
        )?;
        let mut parcels = BTreeMap::new();
        for row in &rows {
            let parcel = parcel(site, row, wanted)?;
            parcels.insert(parcel.number as i32, parcel);
        }
        let mut personal: BTreeMap<(i32, i32), Vec<Personal>> = BTreeMap::new();
        let wanted_rows =
            "JOIN unnest($2::int[], $3::int[]) AS wanted (number, first) ON job = wanted.number";
        let sql = format!(
            "SELECT job, entry, slot, field, salt, words FROM leadhand_personal {wanted_rows} AND entry >= first
             WHERE site = $1 ORDER BY job, entry, slot"
        );
        for row in &tx.query(&sql, &[&site_bytes, &jobs, &firsts])? {
            personal.entry((row.get(0), row.get(1))).or_default().push(apart(row)?);
        }
        let sql = format!(
            "SELECT job, leadhand_entry.number, body, hash FROM leadhand_entry {wanted_rows} AND leadhand_entry.number >= first
             WHERE site = $1 ORDER BY job, leadhand_entry.number"
        );
        for row in &tx.query(&sql, &[&site_bytes, &jobs, &firsts])? {
            let (job, number): (i32, i32) = (row.get(0), row.get(1));
            let personal = personal.remove(&(job, number)).unwrap_or_default();
            let entry = (Sealed { body: row.get(2), personal }, link(row, 3)?);
            parcels.entry(job).and_modify(|parcel: &mut Parcel| parcel.entries.push(entry));
        }
        tx.commit()?;
        Ok(parcels.into_values().collect())
    }
}

/// Adds all entries and their personal words with one statement each.
fn put_entries(tx: &mut postgres::Transaction<'_>, parcels: &[Parcel]) -> Result<u64, SyncError> {
    let (mut sites, mut jobs, mut numbers, mut bodies, mut hashes) = (vec![], vec![], vec![], vec![], vec![]);
    let (mut words, mut keys) = (vec![], vec![]);
    for parcel in parcels {
        for (number, (sealed, hash)) in (parcel.first as i32..).zip(&parcel.entries) {
            sites.push(bytes(parcel.site));
            jobs.push(parcel.number as i32);
            numbers.push(number);
            bodies.push(sealed.body.as_str());
            hashes.push(hash.bytes().as_slice());
            for one in &sealed.personal {
                keys.push((bytes(parcel.site), parcel.number as i32, number));
                words.push(one);
            }
        }
    }
    let new = tx.execute(
        "INSERT INTO leadhand_entry (site, job, number, body, hash)
         SELECT * FROM unnest($1::bytea[], $2::int[], $3::int[], $4::text[], $5::bytea[]) ON CONFLICT DO NOTHING",
        &[&sites, &jobs, &numbers, &bodies, &hashes],
    )?;
    let column = |of: fn(&Personal) -> &str| words.iter().map(|one| of(one)).collect::<Vec<_>>();
    tx.execute(
        "INSERT INTO leadhand_personal (site, job, entry, slot, field, salt, words)
         SELECT * FROM unnest($1::bytea[], $2::int[], $3::int[], $4::smallint[], $5::text[], $6::bytea[], $7::text[])
         ON CONFLICT DO NOTHING",
        &[
            &keys.iter().map(|key| key.0.clone()).collect::<Vec<_>>(),
            &keys.iter().map(|key| key.1).collect::<Vec<_>>(),
            &keys.iter().map(|key| key.2).collect::<Vec<_>>(),
            &words.iter().map(|one| i16::from(one.slot)).collect::<Vec<_>>(),
            &column(|one| &one.field),
            &words.iter().map(|one| one.salt.as_slice()).collect::<Vec<_>>(),
            &column(|one| &one.words),
        ],
    )?;
    Ok(new)
}

fn head(row: &Row) -> Result<Head, SyncError> {
    let (number, entries): (i32, i32) = (row.get(1), row.get(2));
    Ok(Head {
        site: Site(fixed(row, 0)?),
        number: number.unsigned_abs(),
        entries: entries.unsigned_abs(),
        hash: link(row, 3)?,
    })
}

fn parcel(site: Site, row: &Row, wanted: &[(u32, u32)]) -> Result<Parcel, SyncError> {
    let number = row.get::<_, i32>(0).unsigned_abs();
    Ok(Parcel {
        site,
        name: row.get(5),
        number,
        opened: Moment { unix_ms: row.get(1), offset_minutes: row.get(2) },
        previous: link(row, 3)?,
        hash: link(row, 4)?,
        first: wanted.iter().find(|(job, _)| *job == number).map_or(1, |(_, first)| *first),
        entries: Vec::new(),
    })
}

fn apart(row: &Row) -> Result<Personal, SyncError> {
    let slot = u8::try_from(row.get::<_, i16>(2)).map_err(|_| malformed())?;
    Ok(Personal { slot, field: row.get(3), salt: fixed(row, 4)?, words: row.get(5) })
}

fn bytes(site: Site) -> Vec<u8> {
    site.0.to_vec()
}

fn link(row: &Row, column: usize) -> Result<Link, SyncError> {
    fixed::<32>(row, column).map(Link::from)
}

fn fixed<const N: usize>(row: &Row, column: usize) -> Result<[u8; N], SyncError> {
    row.get::<_, &[u8]>(column).try_into().map_err(|_| malformed())
}

fn malformed() -> SyncError {
    SyncError::Refused { why: "a name or a hash in it has a wrong length".to_owned() }
}

/// An error with what it says of its cause.
fn chain(error: &dyn std::error::Error) -> String {
    match error.source() {
        Some(source) => format!("{error}: {}", chain(source)),
        None => error.to_string(),
    }
}
