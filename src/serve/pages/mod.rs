//! The pages, one file each.

mod car;
mod device;
mod look;
mod measure;
mod part;
mod record;
mod today;
mod whole;

use super::visit::PageFn;
pub(super) use device::knock;

/// Pages that are only read.
pub(super) const READ: &[(&str, PageFn)] = &[
    ("/", today::page),
    ("/car", car::page),
    ("/car/cures", car::cures),
    ("/car/sheet", car::sheet),
    ("/parts", part::list),
    ("/part", part::page),
    ("/measure/told", measure::told),
    ("/look", look::page),
    ("/record", record::page),
    ("/answer", car::kept_answer),
    ("/devices", device::page),
];

/// Pages with a form of their own.
pub(super) const READ_AND_SENT: &[(&str, PageFn, PageFn)] = &[
    ("/new", car::new, car::add),
    ("/car/enter", car::enter, car::store),
    ("/car/edit", car::edit, car::store_edited),
    ("/car/keep", car::before_keeping, car::keep),
    ("/part/edit", part::edit, part::store),
    ("/part/new", part::new, part::add),
    ("/measure", measure::page, measure::store),
];

/// Forms that are sent from several pages.
pub(super) const SENT: &[(&str, PageFn)] = &[
    ("/unit", device::unit),
    ("/who", device::who),
    ("/invite", device::invite),
    ("/answer/keep", car::keep_answer),
];

/// The page, among those that are always one tap away, that another one belongs to.
pub(super) fn belongs(path: &str) -> &str {
    match path {
        path if path.starts_with("/car") => "/",
        path if path.starts_with("/part") => "/parts",
        path if path.starts_with("/measure") => "/measure",
        path if path.starts_with("/answer") => "/record",
        path => path,
    }
}
