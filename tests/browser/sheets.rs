//! Sheets printed by a real browser: one side of paper, on both papers, in both units.

use std::path::Path;
use std::process::Command;

use fantoccini::Client;
use fantoccini::wd::{PrintConfiguration, PrintSize};

use crate::Test;
use crate::browser::{kept, program, whole, with_browser, written};
use crate::program::Program;

pub(crate) const TESTS: &[Test] = &[
    ("a_sheet_of_every_demo_job_prints_on_one_side", sheets),
    ("a_blank_sheet_of_every_demo_job_prints_on_one_side", blanks),
];

const PAPERS: [(&str, PrintSize); 2] = [("a4", PrintSize::A4), ("letter", PrintSize::US_LETTER)];

/// Every demo job, with the parts that a build on paper still lacks.
const JOBS: &[(&str, &str)] = &[
    (
        "paper-slate",
        " --with flywheel=FW-S1000 --with disc=DS-S330 --with pressure_plate=PP-S190 \
         --with bearing=BR-S95 --with bearing_shims=SH-S060|SH-S030 --with gearbox_spacer=GS-C6 \
         --with block_plate=BP-S125 --with bell_spacer=BS-S100",
    ),
    (
        "paper-amber",
        " --with flywheel=FW-A25 --with disc=DS-A79 --with pressure_plate=PP-A40 --with bearing=BR-A27",
    ),
    (
        "paper-swap",
        " --with flywheel=FW-S1125 --with disc=DS-S330 --with pressure_plate=PP-S200 \
         --with bearing=BR-A27 --with bell_spacer=BS-SA",
    ),
    ("tight-slate", ""),
    ("tight-slate", " --cure 7"),
    ("loose-amber", ""),
    ("loose-amber", " --cure 1"),
    ("worn-slate", ""),
    ("short-slate", ""),
    ("short-slate", " --cure 1"),
    ("unsure-amber", ""),
];

/// Prints a page and returns how many sides it takes; the sides are kept as pictures.
pub(crate) async fn sides(client: &Client, name: &str, size: PrintSize) -> usize {
    let how = PrintConfiguration::builder().size(size).shrink_to_fit(false).build().unwrap();
    let pdf = client.print(how).await.unwrap();
    let path = kept(&format!("{name}.pdf"));
    std::fs::write(&path, pdf).unwrap();
    pictures(&path, name)
}

/// Turns every side of a print into a picture; returns how many there are.
fn pictures(pdf: &Path, name: &str) -> usize {
    let stem = kept(name);
    let folder = stem.parent().unwrap().to_path_buf();
    // `NAME-1.png`, or `NAME-01.png` where there are many.
    let of_this = |file: &String| {
        let rest =
            file.strip_prefix(&format!("{name}-")).and_then(|rest| rest.strip_suffix(".png"));
        rest.is_some_and(|number| number.parse::<u32>().is_ok())
    };
    let all = || {
        let files = std::fs::read_dir(&folder).unwrap().map(|file| file.unwrap().file_name());
        files.filter_map(|file| file.into_string().ok()).filter(of_this).collect::<Vec<_>>()
    };
    for old in all() {
        std::fs::remove_file(folder.join(old)).unwrap();
    }
    let done = Command::new(program("pdftoppm"))
        .args(["-r", "110", "-png"])
        .args([pdf, &stem])
        .status()
        .unwrap();
    assert!(done.success());
    all().len()
}

fn printed(lines: &[(String, String)]) {
    let program = Program::demo();
    with_browser(async |client| {
        for (index, (name, line)) in lines.iter().enumerate() {
            // Of a sample each sheet is printed once: the papers and the units in turn.
            for (turn, units) in ["in", "mm"].into_iter().enumerate() {
                if !whole() && index / 2 % 2 != turn {
                    continue;
                }
                let ran = program.run(&format!("{line} --units {units}"));
                assert!(ran.status <= 1 && ran.err.is_empty(), "`{line}`: {}", ran.err);
                assert!(!ran.out.contains("<script"), "a sheet has no script");
                let address = written(&format!("{name}-{units}.html"), &ran.out);
                client.goto(&address).await.unwrap();
                for (turn, (paper, size)) in PAPERS.into_iter().enumerate() {
                    if !whole() && index % 2 != turn {
                        continue;
                    }
                    let sides = sides(&client, &format!("{name}-{units}-{paper}"), size).await;
                    assert_eq!(sides, 1, "`{line}` in {units} on {paper}");
                }
            }
        }
    });
}

fn sheets() {
    let line = |(index, (job, flags)): (usize, &(&str, &str))| {
        (format!("sheet-{index}-{job}"), format!("sheet {job}{flags}"))
    };
    printed(&JOBS.iter().enumerate().map(line).collect::<Vec<_>>());
}

fn blanks() {
    let mut jobs: Vec<&str> = JOBS.iter().map(|(job, _)| *job).collect();
    jobs.dedup();
    let line = |job: &&str| (format!("blank-{job}"), format!("sheet {job} --blank"));
    printed(&jobs.iter().map(line).collect::<Vec<_>>());
}
