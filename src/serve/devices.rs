//! The devices that were let in: each with its cookie, its token, its unit and who writes on it.
//!
//! They are kept in memory alone: when the program ends every device is out again.

use std::net::SocketAddr;
use std::sync::{Mutex, MutexGuard, PoisonError};

use super::pairing::{Address, addresses, code, same, secret};
use super::{Notice, Random};
use crate::error::Result;
use crate::model::length::Unit;

/// The most devices at once; the one that came first goes.
const MOST: usize = 64;

/// The most codes that wait for a device at once.
const MOST_CODES: usize = 8;

/// After so many wrong codes those that wait are void.
const GUESSES: u32 = 20;

/// A device that was let in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Device {
    /// Its cookie's value.
    pub(super) key: String,
    /// What every form of it holds.
    pub(super) token: String,
    /// Who writes on it; blank until somebody said so.
    pub(super) by: String,
    /// In which unit it reads lengths.
    pub(super) unit: Unit,
}

/// What became of a code that was given.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Redeemed {
    /// The device is in.
    In(Device),
    /// The code is none, or was used.
    Void,
}

#[derive(Debug, Default)]
struct PairingState {
    devices: Vec<Device>,
    codes: Vec<String>,
    wrong: u32,
    told: Vec<Notice>,
}

/// Every device, and the codes for the next ones.
pub(super) struct Devices {
    state: Mutex<PairingState>,
    random: Random,
    here: SocketAddr,
    lan: Option<SocketAddr>,
    unit: Unit,
}

impl std::fmt::Debug for Devices {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Devices").field("here", &self.here).finish_non_exhaustive()
    }
}

impl Devices {
    pub(super) fn new(
        random: Random,
        here: SocketAddr,
        lan: Option<SocketAddr>,
        unit: Unit,
    ) -> Self {
        Self { state: Mutex::default(), random, here, lan, unit }
    }

    /// What is kept stays whole whatever became of a thread that held it.
    fn state(&self) -> MutexGuard<'_, PairingState> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The addresses with a new code.
    pub(super) fn invite(&self) -> Result<Vec<Address>> {
        let code = code(&self.random)?;
        let mut state = self.state();
        if state.codes.len() >= MOST_CODES {
            state.codes.remove(0);
        }
        state.codes.push(code.clone());
        Ok(addresses(&code, self.here, self.lan))
    }

    /// Lets a device in, once for each code. `by` is who wrote on it before, if anybody did.
    pub(super) fn redeem(&self, given: &str, by: &str) -> Result<Redeemed> {
        let (key, token) = (secret(&self.random)?, secret(&self.random)?);
        let given = given.trim().to_ascii_lowercase();
        let mut state = self.state();
        let Some(at) = state.codes.iter().position(|code| same(code, &given)) else {
            state.wrong += 1;
            let guessed = state.wrong >= GUESSES;
            if guessed {
                state.wrong = 0;
                state.codes.clear();
            }
            drop(state);
            if guessed {
                let next = self.invite()?;
                self.state().told.push(Notice::Guessed(next));
            }
            return Ok(Redeemed::Void);
        };
        state.codes.remove(at);
        state.wrong = 0;
        let device = Device { key, token, by: by.into(), unit: self.unit };
        if state.devices.len() >= MOST {
            state.devices.remove(0);
        }
        state.devices.push(device.clone());
        drop(state);
        let next = self.invite()?;
        self.state().told.push(Notice::LetIn(next));
        Ok(Redeemed::In(device))
    }

    /// The device of a cookie.
    pub(super) fn of(&self, key: &str) -> Option<Device> {
        self.state().devices.iter().find(|device| same(&device.key, key)).cloned()
    }

    /// Changes what is kept of a device.
    pub(super) fn change(&self, key: &str, change: impl FnOnce(&mut Device)) {
        if let Some(device) = self.state().devices.iter_mut().find(|device| device.key == key) {
            change(device);
        }
    }

    /// How many are in.
    pub(super) fn count(&self) -> usize {
        self.state().devices.len()
    }

    /// What is to be told, and was not yet.
    pub(super) fn take_told(&self) -> Vec<Notice> {
        std::mem::take(&mut self.state().told)
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;
    use std::sync::atomic::{AtomicU8, Ordering};

    use super::*;

    fn devices() -> Devices {
        let next = AtomicU8::new(0);
        let random: Random = Arc::new(move |bytes: &mut [u8]| {
            bytes.fill_with(|| next.fetch_add(37, Ordering::Relaxed));
            Ok(())
        });
        Devices::new(random, SocketAddr::from(([127, 0, 0, 1], 80)), None, Unit::In)
    }

    fn code(addresses: &[Address]) -> String {
        addresses[0].url.rsplit('/').next().unwrap().to_string()
    }

    #[test]
    fn a_code_lets_one_device_in_and_the_next_one_is_told() {
        let devices = devices();
        let first = code(&devices.invite().unwrap());
        let Redeemed::In(device) = devices.redeem(&first, "").unwrap() else {
            panic!("it is let in")
        };
        assert_eq!(devices.of(&device.key), Some(device));
        assert_eq!(devices.redeem(&first, "").unwrap(), Redeemed::Void);
        let told = devices.take_told();
        let [Notice::LetIn(next)] = told.as_slice() else { panic!("{told:?}") };
        assert_ne!(code(next), first);
        assert!(matches!(devices.redeem(&code(next).to_uppercase(), "").unwrap(), Redeemed::In(_)));
    }

    #[test]
    fn who_guesses_too_often_voids_the_code() {
        let devices = devices();
        let code = code(&devices.invite().unwrap());
        for _ in 0..GUESSES {
            assert_eq!(devices.redeem("aaaa-aaaa-aaaa", "").unwrap(), Redeemed::Void);
        }
        assert_eq!(devices.redeem(&code, "").unwrap(), Redeemed::Void);
        assert!(matches!(devices.take_told().as_slice(), [Notice::Guessed(_)]));
    }
}
