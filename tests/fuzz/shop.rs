//! The demo shop, copied for each input that changes it, and the program run in it.

use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};

use bellstack::cli::{Env, run};

use crate::dice::Dice;

/// A catalog with the demo shop, and a copy of it to be spoilt.
pub(crate) struct Shop {
    directory: tempfile::TempDir,
}

/// What the program said.
pub(crate) struct Ran {
    pub(crate) status: u8,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl Shop {
    pub(crate) fn new() -> Self {
        let shop = Self { directory: tempfile::tempdir().unwrap() };
        let mut files: Vec<PathBuf> = fs::read_dir(demo())
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .filter(|path| path.extension().is_some_and(|ending| ending == "csv"))
            .collect();
        files.sort();
        let readings = shop.file("readings.csv", READINGS);
        let mut args = vec!["import".to_string()];
        args.extend(files.iter().map(|path| path.display().to_string()));
        args.push(readings);
        let ran = shop.run(&args);
        assert_eq!(ran.status, 0, "{}", ran.err);
        fs::rename(shop.catalog(), shop.directory.path().join("demo.db")).unwrap();
        shop
    }

    pub(crate) fn catalog(&self) -> PathBuf {
        self.directory.path().join("shop.db")
    }

    /// The demo shop as it was at first.
    pub(crate) fn anew(&self) {
        for ending in ["", "-wal", "-shm", "-journal"] {
            let _ = fs::remove_file(self.directory.path().join(format!("shop.db{ending}")));
        }
        fs::copy(self.directory.path().join("demo.db"), self.catalog()).unwrap();
    }

    /// Writes a file, and gives its full name.
    pub(crate) fn file(&self, name: &str, text: &str) -> String {
        let path = self.directory.path().join(name);
        fs::write(&path, text).unwrap();
        path.display().to_string()
    }

    pub(crate) fn run<S: AsRef<str>>(&self, args: &[S]) -> Ran {
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let catalog = self.catalog().into_os_string();
        let var = |name: &str| (name == "BELLSTACK_CATALOG").then(|| catalog.clone());
        let args = std::iter::once("bellstack").chain(args.iter().map(AsRef::as_ref));
        let status = run(args.map(OsString::from), &mut Env::new(&mut out, &mut err, &var));
        let text = |bytes| String::from_utf8(bytes).unwrap();
        Ran { status, out: text(out), err: text(err) }
    }

    /// Asks what comes of the catalog as it is now; `storage` where its file itself may be damaged.
    /// Whether it was answered at all.
    pub(crate) fn ask(&self, lines: &[String], storage: bool) -> bool {
        let mut answered = false;
        for line in lines {
            let words: Vec<&str> = line.split(' ').collect();
            let ran = self.run(&words);
            let most = if storage { 3 } else { 2 };
            answered |= ran.status < 2;
            assert!(ran.status <= most, "{line}: status {}, {}", ran.status, ran.err);
            assert!(ran.status >= 2 || !ran.out.is_empty(), "{line}: no answer");
            assert!(ran.status < 2 || !ran.err.is_empty(), "{line}: no reason");
            let shown = |c: char| c == '\n' || !c.is_control();
            assert!(ran.err.chars().all(shown), "{line}: {:?}", ran.err);
            if line.contains("json") && ran.status < 2 {
                let read: Result<serde_json::Value, _> = serde_json::from_str(&ran.out);
                assert!(read.is_ok(), "{line}: {}", ran.out);
            } else if !line.starts_with("export") && !line.contains("csv") {
                assert!(ran.out.chars().all(shown), "{line}: {:?}", ran.out);
            }
        }
        answered
    }
}

/// The directory of the demo shop's files.
pub(crate) fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data")
}

/// Two or three questions.
pub(crate) fn questions(dice: &mut Dice) -> Vec<String> {
    (0..=dice.roll(2) + 1).map(|_| question(dice)).collect()
}

fn question(dice: &mut Dice) -> String {
    let job = dice.pick(JOBS);
    let format = dice.pick(&["", "", " --format json", " --format csv"]);
    let units = dice.pick(&["", " --units mm"]);
    let order = dice.pick(&["", "", " --order price", " --order room", " --order chance"]);
    match dice.roll(12) {
        0..=2 => format!("fit {job}{format}{units}"),
        3 => format!("fit {job} --with {}{format}", dice.pick(WITH)),
        4 | 5 => format!("cure {job} --top 3{order}{format}{units}"),
        6 | 7 => format!("recommend {job} --top 3 --on-hand{order}{format}{units}"),
        8 => format!("recommend {job} --top 2{order}{format}"),
        9 => format!("check{format}{units}"),
        10 => format!("part show {}{units}", dice.pick(PARTS)),
        _ => dice.pick(&["part list", "job list", "piece list", "reading list", "export"]).into(),
    }
}

pub(crate) const JOBS: &[&str] = &[
    "tight-slate",
    "loose-amber",
    "short-slate",
    "worn-slate",
    "unsure-amber",
    "paper-slate",
    "paper-amber",
    "paper-swap",
];

/// Parts that the jobs have fitted, or that are searched.
pub(crate) const PARTS: &[&str] = &[
    "FW-S1000",
    "FW-S0900",
    "FW-A20",
    "DS-S330",
    "DS-A84",
    "PP-S190",
    "PP-A38",
    "MS-S199",
    "BP-A3",
    "BH-S1",
    "GB-C1",
    "BR-S95",
    "BR-S85",
    "SH-S090",
    "MC-875",
    "ENG-S1",
    "FW-S1000#A",
];

const WITH: &[&str] = &[
    "flywheel=FW-S0900",
    "flywheel=FW-S1000#A",
    "flywheel=FW-S1000#B",
    "disc=none",
    "bearing=BR-S85",
    "bearing_shims=SH-S090|SH-S090",
    "pressure_plate=MS-S199",
    "block_plate=BP-A3",
];

const READINGS: &str = "part,piece,condition,dimension,value,instrument\n\
    FW-S1000,A,new,thickness,1.001 1.002 1.001 1.003 in,caliper-0.02\n\
    FW-S1000,B,used,thickness,0.992 in,caliper-0.02\n\
    DS-S330,A,new,thickness,0.331 0.332 in,\n";
