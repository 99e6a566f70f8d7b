//! Worked examples, shown behind the help of each command and on its manual page. They are about the demo
//! shop, so that each can be tried as it stands.

use std::fmt::Write as _;

use clap::Command;

/// What an example does, and its command line.
pub(in crate::cli) type Example = (&'static str, &'static str);

/// Where somebody begins who has never used the program.
const START: &[Example] = &[
    ("Look at an invented shop with its main jobs answered; it is gone again:", "bellstack demo"),
    ("Keep that shop in a file to try things on:", "bellstack --catalog demo.db demo"),
    ("A car that is too tight, and what cures it:", "bellstack --catalog demo.db cure tight-slate"),
    ("Enter a car of your own, asked for one reading after another:", "bellstack job new my-car"),
    ("How sheets of your own are laid out:", "bellstack export --templates --out my-shop"),
    ("The examples of one command:", "bellstack part list --help"),
];

/// Each example belongs to the command whose words its line begins with. A command that has others
/// below it shows the first example of each.
const EXAMPLES: &[Example] = &[
    ("The shop in a file of its own, which is kept:", "bellstack demo --catalog new.db"),
    (
        "What would become of a sheet's rows, field by field:",
        "bellstack import flywheels.csv --dry-run",
    ),
    (
        "A list of prices; one that jumps is agreed to:",
        "bellstack import --prices prices.csv --agree prices",
    ),
    (
        "Good rows now, the others into sheets to be put right:",
        "bellstack import discs.csv --good-rows to-mend",
    ),
    ("The names under which headings are kept:", "bellstack headings list"),
    ("What one of them means, as a file:", "bellstack headings show rings"),
    ("Ask about these headings anew at the next import:", "bellstack headings remove rings"),
    ("Everything, one file for each kind:", "bellstack export --out carried"),
    ("One workbook in millimetres:", "bellstack export --format xlsx --out shop.xlsx --units mm"),
    ("Empty sheets with every column:", "bellstack export --templates --out empty"),
    ("All of the catalog in one file:", "bellstack backup today.db"),
    ("The catalog as that copy has it:", "bellstack restore spare.db --force"),
    ("What the laptop's copy has that this one lacks:", "bellstack merge spare.db --dry-run"),
    ("Take it, and of what both changed theirs:", "bellstack merge spare.db --theirs"),
    (
        "Flywheels of a thickness that fit on an engine:",
        "bellstack part list --kind flywheel thickness=0.850..0.950 --mates ENG-S1",
    ),
    (
        "What lies on the shelf, the dearest first, for a program:",
        "bellstack part list --on-hand --sort price --reverse --format csv",
    ),
    ("Listed, measured and likely, side by side:", "bellstack part show FW-S1000"),
    ("A shim:", "bellstack part add bearing_shim SH-015 thickness=\"15 thou\""),
    ("Another price, and no notes:", "bellstack part edit FW-S1000 price=295 notes="),
    (
        "Columns of the shop's own, by any names:",
        "bellstack part edit FW-S1000 own_shelf=B3 own_supplier=\"Demo Foundry\"",
    ),
    (
        "Read over a bar, which is taken off:",
        "bellstack part edit FW-S1000 thickness=\"1.250 in\" thickness_bar=\"1/4 in\"",
    ),
    (
        "The same flywheel in another thickness:",
        "bellstack part copy FW-S1000 FW-S0950 thickness=\"0.950 in\" price=",
    ),
    (
        "Another number for what was entered by an old one:",
        "bellstack part rename FW-S1000 DF-1000",
    ),
    ("The maker has a new number for it:", "bellstack part supersede FW-S1000 FW-S1125"),
    (
        "Kept for a car; for all others it is gone:",
        "bellstack part set-aside SH-S030 2 --for tight-slate",
    ),
    ("For everybody again:", "bellstack part put-back BP-S060 --for paper-swap"),
    ("Into the car that it was kept for:", "bellstack part take-out BP-S060 --for paper-swap"),
    ("Two have come for a car:", "bellstack part receive BR-S110 2 --for short-slate"),
    (
        "One has come and is a piece of its own:",
        "bellstack part receive FW-S0900#C --for tight-slate",
    ),
    ("Out of the search, and still in the library:", "bellstack part retire FW-S1125"),
    ("In the search again:", "bellstack part restore BR-S85"),
    ("Gone for good, as no job names it:", "bellstack part remove FW-STEP"),
    ("The columns of a flywheel:", "bellstack part keys flywheel"),
    (
        "The cars that are out of their window, the worst first:",
        "bellstack job list --verdict out --sort room",
    ),
    ("The jobs with one gearbox:", "bellstack job list gearbox=GB-C1"),
    ("Everything about one:", "bellstack job show tight-slate"),
    ("A car beside you, asked for one reading after another:", "bellstack job new my-car"),
    (
        "Three readings are enough for a verdict:",
        "bellstack job add my-car finger_depth=\"2.945 in\" \\\n    bearing_depth_extended=\"2.110 in\" bearing_depth_retracted=\"3.060 in\"",
    ),
    (
        "A part and a reading over a bar:",
        "bellstack job edit worn-slate block_plate=BP-S060 \\\n    finger_depth=\"3.190 in\" finger_depth_bar=\"1/4 in\"",
    ),
    (
        "Another car of the same sort:",
        "bellstack job copy tight-slate next-slate customer=Kim finger_depth=",
    ),
    ("What the first cure would change:", "bellstack job take tight-slate --cure 1 --dry-run"),
    ("Put a ranked stack on a build on paper:", "bellstack job take paper-slate --row 1 --on-hand"),
    ("The car is out of the door:", "bellstack job remove worn-slate"),
    ("The columns of a job:", "bellstack job keys"),
    ("For every car that is not done:", "bellstack buy"),
    (
        "For one car, as a workbook to send off:",
        "bellstack buy tight-slate --format xlsx --out order.xlsx",
    ),
    ("Everything that is set aside, job by job:", "bellstack shelf"),
    ("What is set aside for one job:", "bellstack shelf --for paper-swap"),
    ("The least number that is to lie there:", "bellstack part edit SH-S060 least_on_hand=4"),
    ("What is running out:", "bellstack low"),
    ("Shims alone, for a program:", "bellstack low --kind bearing_shim --format csv"),
    ("Every house number with its meaning:", "bellstack window show"),
    ("More margin in every car:", "bellstack window set reserve_margin=\"0.040 in\""),
    (
        "A window of one job's own:",
        "bellstack window set --job tight-slate preload_min=\"0.580 in\"",
    ),
    ("The pieces of one part number:", "bellstack piece list --part FW-S1000"),
    ("A used one with the label B:", "bellstack piece add FW-S1000#B condition=used"),
    ("It was machined:", "bellstack piece edit FW-S1000#A condition=machined"),
    ("Sold; what was read on it still teaches:", "bellstack piece gone FW-S1000#A"),
    ("In hand again:", "bellstack piece back FW-S1000#A"),
    ("Entered by mistake and never measured:", "bellstack piece remove BP-S060#X"),
    ("The columns of a piece:", "bellstack piece keys"),
    ("What was read on one part number:", "bellstack reading list FW-S1000"),
    (
        "Three readings over a bar:",
        "bellstack reading add FW-S1000#A thickness 1.251 1.2505 1.252 in \\\n    --bar \"1/4 in\" --instrument caliper-0.02",
    ),
    ("A set that counts no more:", "bellstack reading strike 1 --because \"read over burrs\""),
    ("The columns of a set of readings:", "bellstack reading keys"),
    ("The instruments with which every catalog begins:", "bellstack instrument list"),
    ("The limits of error of one:", "bellstack instrument show caliper-0.02"),
    (
        "The shop's own depth gauge:",
        "bellstack instrument add depth-1 limits=\"0.03 mm to 100 mm\"",
    ),
    ("A finer step:", "bellstack instrument set caliper-0.02 resolution=\"0.01 mm\""),
    ("One that nothing was read with:", "bellstack instrument remove caliper-0.05"),
    ("The columns of an instrument:", "bellstack instrument keys"),
    (
        "One dimension after another, until Ctrl-D:",
        "bellstack measure FW-S1000#A --instrument caliper-0.02",
    ),
    ("What was done to one part:", "bellstack history --part FW-S1000"),
    ("The last command:", "bellstack undo"),
    ("What is kept is asked anew later:", "bellstack answer keep tight-slate --top 3 --as monday"),
    ("The answers to one job:", "bellstack answer list --job tight-slate"),
    ("As it was given:", "bellstack answer show spring"),
    ("Whether it still holds:", "bellstack answer compare spring"),
    ("What is fitted today, term by term:", "bellstack fit tight-slate"),
    (
        "With another part, and what to measure next:",
        "bellstack fit tight-slate --with block_plate=BP-S125 --measure",
    ),
    (
        "With a reading that is tried and not stored:",
        "bellstack fit tight-slate --set finger_depth=\"2.940 in\"",
    ),
    (
        "The first cure on one side of paper:",
        "bellstack sheet tight-slate --cure 1 --out sheet.html",
    ),
    ("Blanks to carry to the car:", "bellstack sheet tight-slate --blank --out blank.html"),
    ("What can be built from the shelf:", "bellstack recommend paper-slate --on-hand"),
    (
        "For no more than so much, without counting:",
        "bellstack recommend paper-slate --budget 500 --no-counts",
    ),
    ("The smallest changes that cure one car:", "bellstack cure tight-slate"),
    ("Every car of the day in one table:", "bellstack cure --all"),
    (
        "Only by plates and shims that lie on the shelf:",
        "bellstack cure tight-slate --only block_plate,bearing_shims --on-hand",
    ),
    ("On this machine, in its own browser:", "bellstack serve --browser"),
    ("On the shop's network, for a tablet on the bench:", "bellstack serve --lan"),
    ("The whole library, five lines of each sort:", "bellstack check"),
    ("Every line, for a program:", "bellstack check --format json"),
    ("From `sure` to `out`:", "bellstack grades"),
    (
        "For bash, in every terminal that is opened from then on:",
        "bellstack completions bash > \\\n    ~/.local/share/bash-completion/completions/bellstack",
    ),
    ("For this user:", "bellstack man ~/.local/share/man/man1"),
];

/// A command with its examples behind its help, and those of all commands below it. `path` is its words.
pub(super) fn with_examples(command: Command, path: &str) -> Command {
    let names: Vec<String> = command.get_subcommands().map(|sub| sub.get_name().into()).collect();
    let command = names.iter().fold(command, |command, name| {
        command.mut_subcommand(name, |sub| with_examples(sub, &format!("{path} {name}")))
    });
    let (title, examples) = of(&command, path);
    let text = examples.iter().fold(format!("{title}:\n"), |mut text, (what, line)| {
        let _ = write!(text, "  {what}\n      {}\n", line.replace('\n', "\n      "));
        text
    });
    command.after_help(text.trim_end().to_string())
}

/// The examples of a command of these words, and what they are called.
pub(in crate::cli) fn of(command: &Command, path: &str) -> (&'static str, Vec<Example>) {
    if !path.contains(' ') {
        return ("Start here", START.to_vec());
    }
    let belongs = |path: &str, line: &str| {
        line.strip_prefix(path).is_some_and(|rest| rest.is_empty() || rest.starts_with(' '))
    };
    let below = command.get_subcommands().filter(|sub| sub.get_name() != "help");
    let below: Vec<String> = below.map(|sub| format!("{path} {}", sub.get_name())).collect();
    let examples = EXAMPLES.iter().filter(|(_, line)| belongs(path, line)).copied();
    if below.is_empty() {
        return ("Examples", examples.collect());
    }
    let first = |path: &String| EXAMPLES.iter().find(|(_, line)| belongs(path, line)).copied();
    ("Examples", below.iter().filter_map(first).collect())
}
