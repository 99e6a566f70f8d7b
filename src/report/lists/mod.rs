//! Lists of parts and of jobs, as tables, JSON and CSV.

mod jobs;
mod parts;

pub use jobs::{Standing, csv as job_list_csv, json as job_list_json, table as job_list};
pub use parts::{PartList, csv as part_list_csv, json as part_list_json, table as part_list};
