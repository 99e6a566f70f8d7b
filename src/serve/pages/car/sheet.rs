//! The sheets of a car: that of a stack, and the blank one to carry to the car.

use super::what_if::WhatIf;
use crate::desk::{Bench, one_stack, swapped};
use crate::error::Result;
use crate::report;
use crate::serve::visit::{Reply, Visit};

pub(in crate::serve::pages) fn page(visit: &Visit) -> Result<Reply> {
    let bench = Bench::of(&visit.catalog()?, visit.needed("job")?)?;
    let setup = bench.setup()?;
    let (view, date) = (visit.view(), visit.shop.today());
    if visit.query.has("blank") {
        return Ok(Reply::Document(report::blank_sheet(&setup, view, &date)));
    }
    let what_if = WhatIf::read(&setup, &visit.query, visit.unit())?;
    let choice = swapped(&setup, &what_if.swaps, what_if.machine_to)?;
    let one = one_stack(&setup, &choice, true, &visit.watch)?;
    Ok(Reply::Document(report::sheet(&setup, &one, view, &date)))
}
