//! The pages, one file each.

mod car;
mod device;
mod today;

use super::visit::{Reply, Visit};
use crate::error::Result;
pub(super) use device::knock;

/// What a page answers.
type Page = fn(&Visit) -> Result<Reply>;

/// Pages that are only read.
pub(super) const READ: &[(&str, Page)] = &[
    ("/", today::page),
    ("/car", car::page),
    ("/car/cures", car::cures),
    ("/devices", device::page),
];

/// Pages with a form of their own.
pub(super) const READ_AND_SENT: &[(&str, Page, Page)] = &[
    ("/new", car::new, car::add),
    ("/car/enter", car::enter, car::store),
    ("/car/keep", car::before_keeping, car::keep),
];

/// Forms that are sent from several pages.
pub(super) const SENT: &[(&str, Page)] =
    &[("/unit", device::unit), ("/who", device::who), ("/invite", device::invite)];

/// The page, among those that are always one tap away, that another one belongs to.
pub(super) fn belongs(path: &str) -> &str {
    match path {
        path if path.starts_with("/car") => "/",
        path if path.starts_with("/part") => "/parts",
        path if path.starts_with("/answer") => "/record",
        path => path,
    }
}
