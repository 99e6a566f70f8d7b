//! A look through the whole library: what cannot be, what is doubtful, and what is missing.

use crate::measure::alike::Alike;
use crate::measure::findings::{Family, Findings};
use crate::measure::remark::{Found, Remark, Topic};
use crate::measure::twice;
use crate::model::house::{House, Number};
use crate::model::job::{Job, READINGS};
use crate::model::kinds::{Assumed, FaceEnd, Quantity};
use crate::model::length::Length;
use crate::model::library::Library;
use crate::model::ordered::{bearing_depths, gap_limits, out_of_order};
use crate::model::part::Part;
use crate::model::pieces::Instrument;
use crate::model::usual::WIDEST_TOLERANCE;

/// Everything that is to be said of parts, pieces and instruments, the gravest first.
pub fn remarks(findings: &Findings<'_>) -> Vec<Remark> {
    let library = findings.library;
    let alike = Alike::of(library);
    let mut remarks = Vec::new();
    for part in &library.parts {
        let mut say = |topic, columns, found| {
            let (kind, id) = (part.kind.key, part.id.clone());
            remarks.push(Remark { topic, kind, id, columns, found });
        };
        values(part, &library.house, &alike, &mut say);
        unusual(part, &alike, &mut say);
        if !part.retired {
            gaps(part, &mut say);
        }
    }
    for family in &findings.families {
        pieces(family, &mut remarks);
    }
    for gauge in &library.measured.instruments {
        remarks.extend(limits(library, gauge));
    }
    remarks.extend(twice::remarks(library));
    remarks.sort_by_key(|remark| remark.topic);
    remarks
}

/// Values that cannot be, or hardly.
fn values(
    part: &Part,
    house: &House,
    alike: &Alike,
    say: &mut impl FnMut(Topic, Vec<&'static str>, Found),
) {
    match part.validate() {
        Ok(warnings) => {
            for warning in warnings {
                // The part is named beside it.
                let words = warning.split_once("`: ").map_or(warning.as_str(), |(_, words)| words);
                say(Topic::Suspicious, Vec::new(), Found::Words(words.into()));
            }
        }
        Err(errors) => {
            for (column, error) in errors {
                let words = error.one_line();
                say(Topic::Impossible, vec![column], Found::Words(words));
            }
        }
    }
    if let (Some(long), Some(short)) =
        (part.length("extended_height"), part.length("retracted_height"))
    {
        let number = |number| house.length(number);
        let least = number(Number::FallbackPreloadMin) + number(Number::FallbackReserveMin);
        let travel = long - short;
        if travel > Length::ZERO && travel < least {
            let columns = vec!["extended_height", "retracted_height"];
            say(Topic::Suspicious, columns, Found::Travel(travel, least));
        }
    }
    for (dim, spec) in part.kind.dims.iter().enumerate() {
        let Some(entry) = part.dims[dim] else { continue };
        if let Some(range) = alike.in_the_other_unit(part.kind.key, spec.key, entry.value) {
            let found = Found::OtherUnit(entry.as_length(), range);
            say(Topic::Suspicious, vec![spec.key], found);
        }
        let stands_in = |(key, sign): &(&str, i64)| {
            let index = part.kind.dim_index(key)?;
            let other = part.dims[index]?;
            let own = || house.assumed(part.kind.key, &part.kind.dims[index], other.value);
            Some((other.value * sign, other.tol.unwrap_or_else(own)))
        };
        let sum: Option<Vec<_>> = spec.stand_in.iter().map(stands_in).collect();
        if let Some(sum) = sum.filter(|sum| !sum.is_empty()) {
            let own = || house.assumed(part.kind.key, spec, entry.value);
            let other: i64 = sum.iter().map(|(value, _)| value).sum();
            let tols: i64 = sum.iter().map(|(_, tol)| tol).sum();
            if (other - entry.value).abs() > tols + entry.tol.unwrap_or_else(own) {
                let found = Found::Clamped(entry.as_length(), Length::from_nm(other));
                say(Topic::Suspicious, vec![spec.key], found);
            }
        }
    }
}

/// Values outside what is usual: ranges, orders, tolerances, and the prices of the kind.
fn unusual(part: &Part, alike: &Alike, say: &mut impl FnMut(Topic, Vec<&'static str>, Found)) {
    let lengths = part.kind.dims.iter().zip(&part.dims);
    let lengths = lengths.filter(|(spec, _)| spec.quantity == Quantity::Length);
    for (spec, entry) in lengths.filter_map(|(spec, entry)| Some((spec, (*entry)?))) {
        let length = entry.as_length();
        let slipped = alike.in_the_other_unit(part.kind.key, spec.key, entry.value).is_some();
        if let Some(usual) = spec.usual.filter(|usual| !slipped && !usual.holds(length)) {
            say(Topic::Unusual, vec![spec.key], Found::Unusual(length, usual));
        }
        let tol = entry.tol.map(Length::from_nm).filter(|tol| *tol > WIDEST_TOLERANCE);
        if let Some(tol) = tol {
            say(Topic::Unusual, vec![spec.key], Found::WideTolerance(tol, WIDEST_TOLERANCE));
        }
        if let Some((other, usual)) = spec.usual_less
            && let Some(less) = part.length(other).map(|other| length - other)
            && less > Length::ZERO
            && !usual.holds(less)
        {
            say(Topic::Unusual, vec![spec.key, other], Found::Unusual(less, usual));
        }
    }
    let gaps = gap_limits(part);
    if let Some(words) = out_of_order(gaps) {
        say(Topic::Impossible, gaps.map(|(key, _)| key).to_vec(), Found::Words(words));
    }
    if let Some((price, half)) = part.price.and_then(|price| alike.far_price(part, price)) {
        say(Topic::Unusual, vec!["price"], Found::Price(price, half));
    }
}

/// The same of a job's readings.
pub fn unusual_readings(job: &Job) -> Vec<(Topic, Vec<&'static str>, Found)> {
    let mut all = Vec::new();
    for (spec, entry) in READINGS.iter().zip(&job.readings) {
        let Some(entry) = entry else { continue };
        let length = entry.as_length();
        if !spec.usual.holds(length) {
            all.push((Topic::Unusual, vec![spec.key], Found::Unusual(length, spec.usual)));
        }
        let tol = entry.tol.map(Length::from_nm).filter(|tol| *tol > WIDEST_TOLERANCE);
        if let Some(tol) = tol {
            let found = Found::WideTolerance(tol, WIDEST_TOLERANCE);
            all.push((Topic::Unusual, vec![spec.key], found));
        }
    }
    let depths = bearing_depths(job);
    if let Some(words) = out_of_order(depths) {
        let keys = depths.map(|(key, _)| key).to_vec();
        all.push((Topic::Impossible, keys, Found::Words(words)));
    }
    all
}

/// What is not known.
fn gaps(part: &Part, say: &mut impl FnMut(Topic, Vec<&'static str>, Found)) {
    let mut say = |topic, columns: Vec<&'static str>| {
        if !columns.is_empty() {
            say(topic, columns, Found::Nothing);
        }
    };
    say(Topic::Lacks, part.missing());
    let dims = part.kind.dims.iter().zip(&part.dims);
    let open = dims.filter(|(spec, entry)| {
        spec.assumed != Assumed::Unneeded && entry.is_some_and(|entry| entry.tol.is_none())
    });
    say(Topic::NoTolerance, open.map(|(spec, _)| spec.key).collect());
    let faces = part.kind.faces.iter().zip(&part.faces);
    // A rear face that is blank is as the front one.
    let blank = faces.filter(|(spec, names)| {
        names.is_unknown()
            && spec.end == FaceEnd::Front
            && (!spec.matched_set_only || part.is_matched_set())
    });
    say(Topic::UnknownFace, blank.map(|(spec, _)| spec.key).collect());
    // What the job gives is not bought.
    let is_bought = part.kind.slot.is_some_and(|slot| !slot.fixed);
    if is_bought && part.price.is_none() {
        say(Topic::NoPrice, vec!["price"]);
    }
}

/// What the pieces of a part number say against it, and against each other.
fn pieces(family: &Family<'_>, remarks: &mut Vec<Remark>) {
    let part = family.part;
    let kind = part.kind.key;
    for finding in family.pieces.iter().filter(|finding| finding.is_measured()) {
        let own = finding.specimen;
        let mut piece = Part { id: own.id(), facts: vec![None; part.facts.len()], ..part.clone() };
        for (entry, measured) in piece.dims.iter_mut().zip(&finding.dims) {
            *entry = measured.map(|measured| measured.entry()).or(*entry);
        }
        for (column, error) in piece.validate().err().into_iter().flatten() {
            let words = error.one_line();
            remarks.push(Remark {
                topic: Topic::Suspicious,
                kind,
                id: own.id(),
                columns: vec![column],
                found: Found::Words(words),
            });
        }
    }
    for finding in &family.pieces {
        for (spec, measured) in part.kind.dims.iter().zip(&finding.dims) {
            let mean = measured.map(|measured| Length::from_nm(measured.sample.whole_mean()));
            let outside = mean.zip(spec.usual).filter(|(mean, usual)| !usual.holds(*mean));
            remarks.extend(outside.map(|(mean, usual)| Remark {
                topic: Topic::Unusual,
                kind,
                id: finding.specimen.id(),
                columns: vec![spec.key],
                found: Found::Unusual(mean, usual),
            }));
        }
    }
    for (dim, spec) in part.kind.dims.iter().enumerate() {
        let Some(sample) = family.values(dim) else { continue };
        let (mean, pieces) = (sample.whole_mean(), sample.count());
        let stated = part.dims[dim].and_then(|entry| Some((entry.value, entry.tol?)));
        if let Some((listed, tol)) = stated.filter(|(listed, tol)| (mean - listed).abs() > *tol) {
            let found = Found::Mean { quantity: spec.quantity, pieces, mean, listed, tol };
            let (id, columns) = (part.id.clone(), vec![spec.key]);
            remarks.push(Remark { topic: Topic::BeyondTolerance, kind, id, columns, found });
        }
        remarks.extend(family.apart(dim).into_iter().map(|apart| Remark {
            topic: Topic::StandsApart,
            kind,
            id: apart.piece.clone(),
            columns: vec![spec.key],
            found: Found::Apart(spec.quantity, apart),
        }));
    }
}

/// An instrument without limits of error, or one that was read where it has none.
fn limits(library: &Library, gauge: &Instrument) -> Option<Remark> {
    let found = if gauge.limits.is_empty() {
        Found::Nothing
    } else {
        let own = library.measured.readings.iter().filter(|set| {
            set.struck.is_none() && set.instrument.as_deref() == Some(gauge.name.as_str())
        });
        let read = own.flat_map(|set| &set.values).map(|value| Length::from_nm(*value).abs());
        Found::Beyond(read.max().filter(|longest| gauge.limit_at(*longest).is_none())?)
    };
    let (topic, kind, columns) = (Topic::NoLimit, "instrument", vec!["limits"]);
    Some(Remark { topic, kind, id: gauge.name.clone(), columns, found })
}
