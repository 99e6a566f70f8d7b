//! The schema in a catalog's file, held against the program's own before anything is read through it.
//!
//! A trigger or a view runs whenever a statement touches it, so a file could make this program do
//! what its maker never wrote. Nothing but the program's own tables, indexes and triggers is taken.

use std::collections::BTreeMap;

use rusqlite::Connection;

use super::fault::Fault;
use super::migrations::MIGRATIONS;

/// What a version of this program makes: by kind and name, the statement that made it; none for the
/// indexes that `SQLite` makes by itself.
#[derive(Debug)]
pub(super) struct Schema(BTreeMap<(String, String), Option<String>>);

/// What `SQLite` may keep in a file for its planner. It is read by nothing else.
const OF_THE_PLANNER: &str = "sqlite_stat";

/// What all scripts together make, kept so that not every command has to make it once more: blocks that
/// begin with two equal signs, kind and name, before the statement. A test holds it to the scripts.
const NEWEST: &str = include_str!("../../catalog/newest.txt");

impl Schema {
    /// The schema of a catalog of this version.
    pub(super) fn of(version: usize) -> Result<Self, Fault> {
        if version == MIGRATIONS.len() { Ok(Self::kept()) } else { Self::made(version) }
    }

    /// That of the newest version.
    fn kept() -> Self {
        let block = |block: &str| {
            let (head, sql) =
                block.trim_end_matches('\n').split_once('\n').unwrap_or((block.trim_end(), ""));
            let (kind, name) = head.split_once(' ')?;
            let sql = (!sql.is_empty()).then(|| sql.to_owned());
            Some(((kind.to_owned(), name.to_owned()), sql))
        };
        Self(NEWEST.split("\n== ").filter_map(block).collect())
    }

    /// That of any version, made once more in memory.
    fn made(version: usize) -> Result<Self, Fault> {
        let conn = Connection::open_in_memory()?;
        for script in MIGRATIONS.iter().take(version) {
            conn.execute_batch(script)?;
        }
        let mut made = BTreeMap::new();
        each(&conn, |kind, name, sql| {
            made.insert((kind, name), sql);
            Ok(())
        })?;
        Ok(Self(made))
    }

    /// Holds a file's schema against this one.
    ///
    /// # Errors
    ///
    /// Names the first thing that is not this program's, is another than it made, or is missing.
    pub(super) fn check(&self, conn: &Connection) -> Result<(), Fault> {
        let mut found = 0_usize;
        each(conn, |kind, name, sql| {
            let key = (kind, name);
            match self.0.get(&key) {
                Some(own) if *own == sql => found += 1,
                Some(_) => return Err(strange(&key, "as this program made it")),
                None if key.0 == "table" && key.1.starts_with(OF_THE_PLANNER) => {}
                None => return Err(strange(&key, "this program's")),
            }
            Ok(())
        })?;
        if found == self.0.len() {
            return Ok(());
        }
        let mut missing: Vec<_> = self.0.keys().collect();
        each(conn, |kind, name, _| {
            missing.retain(|key| **key != (kind.clone(), name.clone()));
            Ok(())
        })?;
        let (kind, name) = missing.first().copied().cloned().unwrap_or_default();
        Err(Fault::Strange {
            what: format!("lacks its {kind} `{name}`"),
            hint: "nothing was read or changed: restore the catalog from a copy",
        })
    }
}

fn strange((kind, name): &(String, String), whose: &str) -> Fault {
    let article = if kind.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
    Fault::Strange {
        what: format!("holds {article} {kind} `{}` that is not {whose}", name.escape_debug()),
        hint: "nothing was read or changed: restore the catalog from a copy, or take it out again by \
               the tool that put it there",
    }
}

/// Everything that is in a schema: its kind, its name and the statement that made it; first what runs
/// by itself. A file that was tampered with may hold anything in their places.
fn each(
    conn: &Connection,
    mut seen: impl FnMut(String, String, Option<String>) -> Result<(), Fault>,
) -> Result<(), Fault> {
    let mut query = conn.prepare_cached(
        "SELECT type, name, sql FROM sqlite_schema ORDER BY type NOT IN ('trigger', 'view')",
    )?;
    let mut rows = query.query([])?;
    while let Some(row) = rows.next()? {
        let text = |column| -> rusqlite::Result<Option<String>> {
            Ok(match row.get_ref(column)? {
                rusqlite::types::ValueRef::Null => None,
                rusqlite::types::ValueRef::Text(text) => {
                    Some(String::from_utf8_lossy(text).into_owned())
                }
                other => Some(format!("{other:?}")),
            })
        };
        seen(text(0)?.unwrap_or_default(), text(1)?.unwrap_or_default(), text(2)?)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use std::fmt::Write as _;

    use super::*;

    #[test]
    fn the_newest_schema_that_is_kept_is_the_one_that_the_scripts_make() {
        let made = Schema::made(MIGRATIONS.len()).unwrap();
        let mut text = String::new();
        for ((kind, name), sql) in &made.0 {
            write!(text, "\n== {kind} {name}").unwrap();
            if let Some(sql) = sql {
                write!(text, "\n{sql}").unwrap();
            }
        }
        text.push('\n');
        if std::env::var_os("BELLSTACK_REWRITE").is_some() {
            std::fs::write(concat!(env!("CARGO_MANIFEST_DIR"), "/catalog/newest.txt"), &text)
                .unwrap();
            return;
        }
        assert_eq!(text, NEWEST, "`BELLSTACK_REWRITE=1 cargo test --lib newest` writes it anew");
        assert_eq!(made.0, Schema::kept().0);
    }
}
