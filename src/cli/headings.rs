//! `headings`: what the headings of the shop's own sheets mean.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;

use serde::Deserialize;

use super::args::{As, Common, Headings as Args, Shape};
use super::env::Env;
use super::{Reply, place};
use crate::catalog::csv::{column_named, holds_named};
use crate::catalog::{Access, Catalog, plain};
use crate::error::{Error, Result};
use crate::model::headings::{Headings, Meaning};
use crate::model::kinds::Kinds;
use crate::model::words::count;
use crate::report;

pub(super) fn run(common: &Common, args: Args, env: &mut Env<'_>) -> Result<Reply> {
    match args {
        Args::List { written: As { format } } => {
            let catalog = place::open(common, env, Access::Read)?;
            let all = catalog.load_headings()?;
            if format == Shape::Json {
                return Ok(Reply::good(report::headings_list_json(&all)));
            }
            if all.is_empty() {
                return Ok(Reply::good("No headings are kept: `import` learns them.\n"));
            }
            let line = |headings: &Headings| {
                let columns = count(headings.columns.len() as u128, "heading");
                let holds = if headings.holds.is_empty() { "parts" } else { &headings.holds };
                format!("{}: {columns} of {holds}\n", headings.name)
            };
            Ok(Reply::good(all.iter().map(line).collect::<String>()))
        }
        Args::Show { name, written: As { format } } => {
            let catalog = place::open(common, env, Access::Read)?;
            let headings = catalog.read(|reader| reader.headings_named(&name))?;
            Ok(Reply::good(match format {
                Shape::Table => shown(&headings),
                Shape::Json => report::headings_json(&headings),
            }))
        }
        Args::Remove { names } => place::change_each(common, env, &names, |writer, name| {
            writer.remove(&writer.reader().headings_named(name)?)?;
            Ok(format!("removed the headings {name}\n"))
        }),
    }
}

/// Headings as a file that reads back to them.
fn shown(headings: &Headings) -> String {
    let mut text = format!("# The headings {}\n", headings.name);
    let quoted = |text: &str| toml::Value::String(text.into()).to_string();
    if !headings.holds.is_empty() {
        // Writing to a string cannot fail.
        let _ = writeln!(text, "holds = {}", quoted(&headings.holds));
    }
    text.push_str("\n[columns]\n");
    for (heading, meaning) in &headings.columns {
        let means = match meaning {
            Meaning::Column(column) => column.as_str(),
            Meaning::PassedOver => "-",
        };
        let _ = writeln!(text, "{} = {}", quoted(heading), quoted(means));
    }
    if !headings.kinds.is_empty() {
        text.push_str("\n[kinds]\n");
        for (word, kind) in &headings.kinds {
            let _ = writeln!(text, "{} = {}", quoted(word), quoted(kind));
        }
    }
    text
}

/// A file of headings as it is written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct HeadingsFile {
    #[serde(default)]
    holds: String,
    columns: BTreeMap<String, String>,
    #[serde(default)]
    kinds: BTreeMap<String, String>,
}

/// The headings that `--headings` asks for: those that are kept under this name, or those in a file.
pub(super) fn asked(catalog: &Catalog, text: &str) -> Result<Headings> {
    let path = Path::new(text);
    if !path.exists() && path.extension().is_none_or(|ending| ending != "toml") {
        return catalog.read(|reader| reader.headings_named(text));
    }
    let shown = path.display();
    let written = std::fs::read_to_string(path)
        .map_err(|error| Error::storage(format!("`{shown}` cannot be read: {}", plain(&error))))?;
    read(&written, catalog.kinds()).map_err(|error| error.at(format!("`{shown}`")))
}

fn read(text: &str, kinds: Kinds) -> Result<Headings> {
    let written: HeadingsFile = toml::from_str(text).map_err(|error| {
        let line = error.span().map_or(1, |span| text[..span.start].matches('\n').count() + 1);
        Error::input(format!("line {line}: {}", error.message())).hint(
            "a file of headings has `holds = \"flywheels\"` and a table `[columns]` with lines such as \
             `\"Thk (in)\" = \"thickness_in\"`; `-` passes a column over",
        )
    })?;
    let mut headings = Headings::default();
    if !written.holds.is_empty() {
        headings.holds = holds_named(kinds, &written.holds)?;
    }
    let holds = Some(headings.holds.clone()).filter(|holds| !holds.is_empty());
    for (heading, means) in &written.columns {
        let meaning = match means.trim() {
            "" | "-" => Meaning::PassedOver,
            name => Meaning::Column(
                column_named(kinds, holds.as_deref(), name)
                    .map_err(|error| error.at(format!("`{heading}`")))?,
            ),
        };
        headings.learn(heading, meaning);
    }
    for (word, kind) in &written.kinds {
        headings.learn_kind(word, kinds.named(kind)?.key);
    }
    Ok(headings)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shown_headings_read_back() {
        let mut headings = Headings { holds: "flywheels".into(), ..Headings::default() };
        headings.learn("Thk \"in\"", Meaning::Column("thickness_in".into()));
        headings.learn("Bin", Meaning::PassedOver);
        headings.learn_kind("Rings", "flywheel");
        assert_eq!(read(&shown(&headings), Kinds::standard()).unwrap(), headings);
    }

    #[test]
    fn a_file_of_headings_is_held_to_what_is_known() {
        let refused = |text| read(text, Kinds::standard()).unwrap_err().to_string();
        assert!(refused("[columns]\nA = \"thicknes\"\n").contains("did you mean `thickness`?"));
        assert!(refused("holds = \"spoons\"\n[columns]\n").contains("spoons"));
        assert!(refused("[columns]\nA = 1\n").contains("line 2"));
        assert!(refused("[colums]\n").contains("columns"));
    }
}
