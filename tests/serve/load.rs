//! Many at once.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use crate::browser::Served;

#[test]
fn fifty_readers_and_two_writers_at_once_lose_nothing() {
    let served = Served::demo();
    let (device, other) = (served.device(), served.second());
    let pages = ["/", "/car?job=tight-slate", "/parts?kind=flywheel", "/record?job=loose-amber"];
    let read = AtomicUsize::new(0);
    thread::scope(|scope| {
        for reader in 0..50 {
            let (device, read) = (&device, &read);
            scope.spawn(move || {
                for turn in 0..4 {
                    device.page(pages[(reader + turn) % pages.len()]);
                    read.fetch_add(1, Ordering::Relaxed);
                }
            });
        }
        for (device, part) in [(&device, "FW-S0900"), (&other, "FW-S0960")] {
            scope.spawn(move || {
                for count in 1..=12 {
                    let page = device.page(&format!("/part/edit?id={part}"));
                    let (seen, count) = (page.field("seen"), count.to_string());
                    let was = (count.parse::<u32>().unwrap() - 1).to_string();
                    let said = device.form(
                        "/part/edit",
                        &[
                            ("id", part),
                            ("seen", &seen),
                            ("on_hand", &count),
                            ("was.on_hand", &was),
                        ],
                    );
                    assert_eq!(said.status, 303, "{part} {count}: {}", said.body);
                }
            });
        }
    });
    assert_eq!(read.load(Ordering::Relaxed), 200);
    for part in ["FW-S0900", "FW-S0960"] {
        let record = served.says(&format!("history --part {part} --limit 1000"));
        assert_eq!(record.matches("on_hand: ").count(), 12, "{record}");
        assert!(
            served.says(&format!("part show {part}")).contains("on_hand                     12")
        );
    }
}

#[test]
fn what_was_stored_before_the_server_stops_is_stored() {
    let mut served = Served::demo();
    let device = served.device();
    let stored = AtomicUsize::new(0);
    thread::scope(|scope| {
        let (device, stored) = (&device, &stored);
        let writer = scope.spawn(move || {
            for count in 0..500 {
                let name = format!("car{count}");
                // A server that is gone answers nothing.
                let Some(said) = device.try_form("/new", &[("job", &name)]) else { return };
                if said.status != 303 {
                    return;
                }
                stored.store(count + 1, Ordering::SeqCst);
            }
        });
        while stored.load(Ordering::SeqCst) < 5 {
            thread::yield_now();
        }
        served.stop();
        writer.join().unwrap();
    });
    let jobs = served.says("job list");
    let stored = stored.load(Ordering::SeqCst);
    assert!((5..500).contains(&stored), "{stored}");
    for count in 0..stored {
        assert!(jobs.contains(&format!("car{count} ")), "car{count} of {stored}: {jobs}");
    }
}
