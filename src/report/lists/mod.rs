//! Lists of parts and of jobs, as tables, JSON and CSV, and everything else that is shown as JSON.

mod jobs;
mod parts;
mod records;
mod shows;

pub use jobs::{Standing, csv as job_list_csv, json as job_list_json, table as job_list};
pub use parts::{PartList, csv as part_list_csv, json as part_list_json, table as part_list};
pub use records::{
    all_headings as headings_list_json, headings as headings_json,
    instrument as instrument_show_json, instruments as instrument_list_json,
    pieces as piece_list_json, readings as reading_list_json,
};
pub use shows::{
    job as job_show_json, part as part_show_json, settings as settings_json, window as window_json,
};
