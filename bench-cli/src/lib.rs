//! See the README.

pub mod atmosphere;
pub mod bench;
pub mod check;
pub mod cli;
pub mod core_quantity;
pub mod export;
pub mod figures;
pub mod fit;
pub mod ignition_result;
pub mod light;
pub mod link;
pub mod measure;
pub mod output;
pub mod plan;
pub mod quantity_text;
pub mod readings;
pub mod record;
pub mod result;
pub mod sheet;
pub mod source;
pub mod survey;
pub mod tape;
pub mod units;
pub mod verdict;
pub mod yes_or_no;
