//! One request of a device that was let in, and what is answered.

use std::sync::Arc;

use maud::Markup;

use super::Shop;
use super::devices::{Device, Devices};
use super::form::{Fields, asked};
use crate::catalog::{Access, Catalog, Writer};
use crate::error::{Error, Result};
use crate::model::history::Stamp;
use crate::model::length::Unit;
use crate::model::usual::Meant;
use crate::report::View;
use crate::solve::ask::Watch;

/// The field of a form that says that an unusual value is meant.
pub(super) const UNUSUAL: &str = "unusual";

/// One request.
#[derive(Debug, Clone)]
pub(super) struct Visit {
    /// The catalog that is asked.
    pub(super) shop: Arc<Shop>,
    /// Every device.
    pub(super) devices: Arc<Devices>,
    /// The device that asks.
    pub(super) device: Device,
    /// The page that it asks for, without its question.
    pub(super) path: &'static str,
    /// The question in the address.
    pub(super) query: Fields,
    /// The form that was sent; empty where none was.
    pub(super) form: Fields,
    /// With which a search is stopped: when the browser goes away, when it takes too long, when the
    /// server stops.
    pub(super) watch: Watch,
}

/// A page: what it answers to one request.
pub(super) type PageFn = fn(&Visit) -> Result<Reply>;

/// What a page answers.
#[derive(Debug)]
pub(super) enum Reply {
    /// A page with its title.
    Page(String, Markup),
    /// A piece of a page, which the page's script puts in its place.
    Piece(Markup),
    /// A document of its own, such as a sheet to print.
    Document(String),
    /// Go on at this address.
    Go(String),
    /// A page whose form has to be put right first: nothing was stored.
    Again(String, Markup),
    /// A page that says what others changed in the meantime: nothing was stored.
    Refused(String, Markup),
}

impl Reply {
    /// A page with its title.
    #[expect(clippy::unnecessary_wraps, reason = "a page ends with it")]
    pub(super) fn page(title: impl Into<String>, body: Markup) -> Result<Self> {
        Ok(Self::Page(title.into(), body))
    }
}

impl Visit {
    /// The same with what stands in the address as if it had been typed into the form.
    pub(super) fn typed(&self) -> Self {
        Self { form: self.query.clone(), ..self.clone() }
    }

    /// The address that was asked for, with its question.
    pub(super) fn here(&self) -> String {
        asked(self.path, self.query.iter())
    }

    /// The unit in which the device reads lengths.
    pub(super) fn unit(&self) -> Unit {
        self.device.unit
    }

    /// For whom answers are written. Pages break their lines themselves.
    pub(super) fn view(&self) -> View {
        View::new(self.unit(), 100)
    }

    /// Opens the catalog to read it.
    pub(super) fn catalog(&self) -> Result<Catalog> {
        self.shop.open(Access::Read)
    }

    /// Changes the catalog in one transaction. `command` is the command line with which the same could
    /// be done; it goes on record with who writes.
    pub(super) fn write<T>(
        &self,
        command: impl Into<String>,
        change: impl FnMut(&Writer<'_>) -> Result<T>,
    ) -> Result<T> {
        let stamp = self.stamp(command)?;
        self.open_to_write()?.write(&stamp, change)
    }

    /// Opens the catalog to change it.
    pub(super) fn open_to_write(&self) -> Result<Catalog> {
        self.shop.open(Access::Write)
    }

    /// Who changes the catalog now, with the command line that would do the same. Whoever said their
    /// name with this form is remembered on the device.
    pub(super) fn stamp(&self, command: impl Into<String>) -> Result<Stamp> {
        let by = self.by()?;
        if by != self.device.by {
            self.devices.change(&self.device.key, |device| device.by.clone_from(&by));
        }
        Ok(self.shop.stamp(&by, command.into()))
    }

    /// What is meant though it is unusual: everything, where the form says so.
    pub(super) fn meant(&self) -> Meant {
        if self.form.has(UNUSUAL) { Meant::all() } else { Meant::default() }
    }

    /// Who writes: said with this form, or earlier on this device.
    pub(super) fn by(&self) -> Result<String> {
        let told = self.form.one("by").unwrap_or(&self.device.by);
        if told.is_empty() {
            return Err(Error::input("nobody said who writes")
                .hint("give your name: it goes on record with the change"));
        }
        Ok(told.into())
    }

    /// A value that the page cannot do without.
    pub(super) fn needed(&self, name: &str) -> Result<&str> {
        let told = self.query.one(name).or_else(|| self.form.one(name));
        told.ok_or_else(|| {
            Error::input(format!("the address names no `{name}`")).hint("begin at the first page")
        })
    }

    /// Whether the page's script asks for a piece of the page alone.
    pub(super) fn wants_piece(&self) -> bool {
        self.query.one("piece").is_some()
    }
}
