//! Everything about a car or a part in one form: how it is shown, and how what was changed in it is
//! stored.

use maud::{Markup, html};

use crate::catalog::Writer;
use crate::catalog::csv::{Pairs, PairsTaken, ShownCell};
use crate::desk::{Thing, Version, Written, unless_changed};
use crate::error::{Error, Result};
use crate::report::html::text;
use crate::serve::cells::{Choices, again, changed, fields, list, pairs, typed};
use crate::serve::form::asked;
use crate::serve::shell::{keep_box, signed, wrong};
use crate::serve::visit::{Reply, Visit};
use crate::serve::{meanwhile, question};

/// What is edited.
pub(super) struct Whole<'v> {
    pub(super) thing: Thing<'v>,
    /// The field that holds its name, and the name.
    pub(super) named: (&'static str, &'v str),
    /// Its own page, and what leads there.
    pub(super) page: (&'static str, &'static str),
    /// The command that would do the same.
    pub(super) command: &'static str,
}

impl Whole<'_> {
    fn own_page(&self) -> String {
        asked(self.page.0, [self.named])
    }

    fn address(&self) -> String {
        format!("{}/edit", self.page.0)
    }

    /// The form, with what was wrong with it when it was sent.
    pub(super) fn form(
        &self,
        visit: &Visit,
        (cells, choices): (&[ShownCell], Choices<'_>),
        seen: Version,
        error: Option<&Error>,
    ) -> Markup {
        let (field, name) = self.named;
        html! {
            div.head {
                h1 { (text(name)) }
                p { a.button href=(self.own_page()) { (self.page.1) } }
            }
            @if let Some(error) = error { (wrong(error)) }
            form.whole method="post" action=(self.address()) id="whole" data-keep {
                (signed(visit))
                input type="hidden" name=(field) value=(name);
                input type="hidden" name="seen" value=(seen.0);
                (question::units(visit))
                (fields(visit, cells, choices))
                (keep_box(error))
                div.row {
                    button.main { "Store" }
                    a.button href=(self.own_page()) { "Leave it" }
                }
            }
        }
    }

    /// Stores what was changed in the form, unless others changed the thing meanwhile. `form` shows it
    /// again with what was wrong.
    pub(super) fn store(
        &self,
        visit: &Visit,
        cells: &[ShownCell],
        edit: impl Fn(&Writer<'_>, Pairs<'_>) -> Result<PairsTaken>,
        form: impl FnOnce(&Error) -> Result<Markup>,
    ) -> Result<Reply> {
        let (_, name) = self.named;
        let seen = Version(visit.form.number("seen").unwrap_or_default());
        let changed = changed(&visit.form, cells, question::unit(visit));
        let (pairs, meant) = (pairs(&changed), visit.meant());
        let written = visit
            .write(format!("{} {name} {}", self.command, typed(&changed)), |writer| {
                unless_changed(writer, self.thing, seen, || edit(writer, (&pairs, &meant)))
            });
        match written {
            Ok(Written::Done(_)) => Ok(Reply::Go(self.own_page())),
            Ok(Written::Meanwhile(events)) => {
                let back = again(&self.address(), self.named, &changed);
                Ok(meanwhile::page(visit, name, &events, &list(&changed), &back))
            }
            Err(error) => Ok(Reply::Again(format!("Edit {name}"), form(&error)?)),
        }
    }
}
