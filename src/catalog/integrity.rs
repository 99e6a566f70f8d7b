//! A look through the whole file for damage that no single answer would notice.

use rusqlite::Connection;

use super::fault::Fault;
use super::{Reader, seal};
use crate::error::Result;

/// How many findings are looked for: one is enough to restore the file from a copy.
const MOST: u32 = 20;

impl Reader<'_> {
    /// Looks through every page of the file: its order, its tables against their indexes and their
    /// own rules, its references, and the seals of its things.
    ///
    /// # Errors
    ///
    /// A storage error that tells of the first damage, and how much more there is.
    pub fn look_through(&self) -> Result<()> {
        let look = || -> Result<(), Fault> {
            if let Some(what) = summed_up(findings(self.conn)?) {
                return Err(Fault::damaged(what));
            }
            match summed_up(seal::broken(self.conn, MOST as usize)?) {
                None => Ok(()),
                Some(what) => Err(Fault::Strange {
                    what: format!("is damaged: {what}"),
                    hint: "restore it from a copy; what another tool changed on purpose is taken \
                           over by an edit",
                }),
            }
        };
        self.told(look())
    }
}

/// The first finding, and how many more there are.
fn summed_up(findings: Vec<String>) -> Option<String> {
    let more = findings.len().saturating_sub(1);
    let first = findings.into_iter().next()?;
    Some(if more == 0 { first } else { format!("{first}; and {more} more like it") })
}

fn findings(conn: &Connection) -> Result<Vec<String>, Fault> {
    let mut query = conn.prepare(&format!("PRAGMA integrity_check({MOST})"))?;
    let found = query.query_map([], |row| row.get::<_, String>(0))?;
    let mut findings: Vec<String> = found.collect::<rusqlite::Result<_>>()?;
    findings.retain(|finding| finding != "ok");
    let mut query = conn.prepare("PRAGMA foreign_key_check")?;
    let dangling = query.query_map([], |row| {
        let (table, parent): (String, String) = (row.get(0)?, row.get(2)?);
        Ok(format!("a row of the table `{table}` belongs to no row of `{parent}`"))
    })?;
    for finding in dangling.take(MOST as usize) {
        findings.push(finding?);
    }
    // What SQLite says of one page may run over several lines.
    Ok(findings.into_iter().map(|finding| finding.replace('\n', "; ")).collect())
}
