//! `bobweight` alone: the steps of the job that can be done today.

/// The steps, in the order of the job.
pub const STEPS: &str = "\
From a worn mechanical distributor to an electronic ignition that is proven:

  1. Read the old distributor with a timing light, hose off and hose on, and write the readings to a CSV file.
  2. bobweight fit READINGS.csv            a curve with its uncertainty, and a new sheet of your engine
     Answer the questions in the sheet, and choose a curve:
     bobweight fit READINGS.csv --sheet SHEET.toml --choose found
  3. bobweight check SHEET.toml            the curve keeps its limits at every speed and vacuum, or where it does not
  4. bobweight bench SHEET.toml            the ignition's box follows the curve, or not

`bobweight help COMMAND` tells more of each.
";
