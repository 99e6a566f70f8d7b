//! `backup` and `restore`: the whole catalog in another file, and back.

use super::args::{Backup, Common, Restore};
use super::env::Env;
use super::{Reply, place};
use crate::catalog::{Access, Catalog, Copied};
use crate::error::{Error, Result};
use crate::model::words::count;

/// Writes the catalog into another file.
pub(super) fn backup(common: &Common, args: &Backup, env: &mut Env<'_>) -> Result<Reply> {
    let catalog = place::open(common, env, Access::Read)?;
    let name = args.file.display().to_string();
    let question = format!("`{name}` is there already. Replace it, yes or no? ");
    let agreed = !args.force && args.file.is_file() && agreed(env, &question)?;
    let copied = catalog.backup(&args.file, args.force || agreed)?;
    Ok(Reply::stored(format!("{name}: {}\n", told(copied))))
}

/// Puts what another file holds in the catalog's place.
pub(super) fn restore(common: &Common, args: &Restore, env: &mut Env<'_>) -> Result<Reply> {
    let path = place::path(common, env)?;
    let is_there = path.metadata().is_ok_and(|meta| meta.len() > 0);
    let (name, from) = (path.display().to_string(), args.file.display().to_string());
    if is_there && !args.force {
        let question = format!(
            "What the catalog `{name}` holds goes, and what `{from}` holds takes its place. Go on, yes \
             or no? "
        );
        if !agreed(env, &question)? {
            return Err(Error::input(format!("the catalog `{name}` is there already"))
                .hint("`--force` replaces what it holds; a copy of that is kept beside it"));
        }
    }
    let restored = Catalog::restore(&path, env.kinds, &place::stamp(common, env), &args.file)?;
    let mut text = format!("{name}: {}\n", told(restored.holds));
    if let Some(before) = restored.before {
        text.push_str("what it held before is kept: ");
        text.push_str(&before.display().to_string());
        text.push('\n');
    } else {
        env.tell(&format!("a new catalog was made: {name}"));
    }
    Ok(Reply::stored(text))
}

/// Asks a person; whoever says no has changed nothing.
fn agreed(env: &mut Env<'_>, question: &str) -> Result<bool> {
    match env.agreed(question)? {
        Some(false) => Err(Error::input("nothing was written")),
        answer => Ok(answer.is_some()),
    }
}

fn told(copied: Copied) -> String {
    let Copied { parts, jobs, command } = copied;
    let (parts, jobs) = (count(parts as u128, "part"), count(jobs as u128, "job"));
    format!("{parts}, {jobs}, the record up to command {command}")
}
