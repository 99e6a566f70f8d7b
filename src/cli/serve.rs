//! `serve`: the catalog opened to browsers, until it is stopped.

use std::net::{IpAddr, Ipv4Addr, UdpSocket};
use std::thread::sleep;
use std::time::Duration;

use super::args::{Common, Serve};
use super::env::Env;
use super::{Reply, place};
use crate::catalog::{Access, Catalog};
use crate::error::{Error, Result};
use crate::serve::{Address, AskLimits, ListenAt, Notice, Shop, qr, start};

/// How often it is looked whether it is to stop, and whether there is something to tell.
const LOOK: Duration = Duration::from_millis(100);

pub(super) fn run(common: &Common, args: &Serve, env: &mut Env<'_>) -> Result<Reply> {
    let path = place::path(common, env)?;
    let mut catalog = Catalog::open(&path, env.kinds, Access::Create)?;
    if !catalog.exists() {
        catalog.write(&place::stamp(common, env), |_| Ok(()))?;
        env.tell(&format!("a new catalog was made: {}", path.display()));
    }
    common.remember(&catalog);
    drop(catalog);
    let shop = Shop {
        path,
        kinds: env.kinds,
        unit: common.unit(),
        clock: env.clock.clone(),
        random: env.random.clone(),
    };
    let lan = args.lan.as_deref().map(own_address).transpose()?;
    let running = start(shop, &ListenAt { lan, port: args.port }, AskLimits::default())?;
    (env.on_search)(&env.watch);
    let name = place::path(common, env)?.display().to_string();
    say(env, &format!("The catalog {name} is open to a browser at {}.", running.here()))?;
    invite(env, running.addresses())?;
    say(env, "Ctrl-C ends it; what was stored stays stored.")?;
    if args.browser {
        let here = running.addresses().iter().find(|address| !address.lan);
        if let Some(Err(error)) = here.map(|address| (env.show)(&address.url)) {
            env.tell(&format!("no browser could be shown: {error}"));
        }
    }
    while env.watch.step(0).is_ok() {
        for told in running.told() {
            tell(env, &told)?;
        }
        sleep(LOOK);
    }
    running.stop();
    Ok(Reply::good("\nThe catalog is closed to browsers.\n"))
}

fn say(env: &mut Env<'_>, line: &str) -> Result<()> {
    super::say(env, &format!("{line}\n"), false)
}

/// The addresses that let one device in; that of the network as a QR code too.
fn invite(env: &mut Env<'_>, addresses: &[Address]) -> Result<()> {
    for address in addresses {
        let place = if address.lan { "On a tablet in the shop" } else { "On this machine" };
        say(env, &format!("{place}: {}", address.url))?;
        if address.lan
            && let Some(code) = qr(&address.url)
        {
            say(env, &code)?;
        }
    }
    Ok(())
}

fn tell(env: &mut Env<'_>, told: &Notice) -> Result<()> {
    let (line, next) = match told {
        Notice::LetIn(next) => ("A device was let in. For the next one:", next),
        Notice::Guessed(next) => {
            ("Somebody tried wrong codes: those that were open are void. The new one:", next)
        }
    };
    say(env, line)?;
    invite(env, next)
}

/// This machine's address in the shop's network, as it was given or as the system would leave by.
fn own_address(told: &str) -> Result<IpAddr> {
    if !told.is_empty() {
        return told.parse().map_err(|_| {
            Error::input(format!("`--lan {told}` is no address of a machine"))
                .hint("write it in numbers, such as `--lan 192.168.1.20`")
        });
    }
    // Nothing is sent: the system only says which way it would go. The address is one for examples.
    let leaves = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).and_then(|socket| {
        socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9))?;
        socket.local_addr()
    });
    match leaves.map(|at| at.ip()) {
        Ok(ip) if !ip.is_loopback() && !ip.is_unspecified() => Ok(ip),
        _ => Err(Error::input("this machine is in no network that could be found")
            .hint("give its address there, such as `--lan 192.168.1.20`")),
    }
}
