//! `tenths read`, `readings`, `reading`, `assess`, `assessments`

use super::Paging;
use crate::entry::lengths;
use crate::words;
use clap::{Args, Subcommand};
use tenths_proto::v1;

/// What was read, in one line, and with what.
#[derive(Debug, Args)]
pub(crate) struct NumbersRead {
    /// The gauge used.
    #[arg(long)]
    pub(crate) gauge: String,
    /// The readings in inches: station and degrees, then the value, and so on.
    #[arg(long = "in", value_name = "LINE", required_unless_present = "mm", conflicts_with = "mm")]
    pub(crate) inch: Option<String>,
    /// The readings in millimetres, written the same way.
    #[arg(long, value_name = "LINE")]
    pub(crate) mm: Option<String>,
    /// The part's temperature, such as 24C or 75F.
    #[arg(long, value_name = "TEMPERATURE", value_parser = lengths::temperature)]
    pub(crate) part_temp: Option<v1::Temperature>,
    /// The gauge's temperature, if it is not as warm as the part.
    #[arg(long, value_name = "TEMPERATURE", value_parser = lengths::temperature)]
    pub(crate) gauge_temp: Option<v1::Temperature>,
    /// Why suspicious readings are right all the same; recorded with them.
    #[arg(long, value_name = "REASON")]
    pub(crate) sure: Option<String>,
}

#[derive(Debug, Args)]
#[command(
    after_help = "A reading that looks like a slip is asked about, and nothing is saved; repeat with \
    --sure \"REASON\" if it is right.\n\nExample:\n  tenths read P-104 --feature seat-a --gauge M-07 \
    --in \"A0 1.1809 A90 1.1809 B0 1.1808 B90 1.1808\"\n  tenths read P-104 --feature seat-a --gauge \
    M-07 --part-temp 31C --gauge-temp 21C --mm \"A0 30.012\" --explain"
)]
pub(crate) struct Read {
    /// The piece measured.
    pub(crate) piece: String,
    /// The feature measured.
    #[arg(long)]
    pub(crate) feature: String,
    #[command(flatten)]
    pub(crate) numbers: NumbersRead,
    /// Show the corrections to 20 C and what makes up each uncertainty.
    #[arg(long)]
    pub(crate) explain: bool,
}

#[derive(Debug, Args)]
#[command(after_help = "Example:\n  tenths readings P-104 --feature seat-a")]
pub(crate) struct Readings {
    /// Only readings of this piece.
    pub(crate) piece: Option<String>,
    /// Only readings of this feature.
    #[arg(long)]
    pub(crate) feature: Option<String>,
    /// Only readings with this gauge.
    #[arg(long)]
    pub(crate) gauge: Option<String>,
    #[command(flatten)]
    pub(crate) paging: Paging,
}

#[derive(Debug, Subcommand)]
pub(crate) enum ReadingCommand {
    /// Void a wrong reading; it stays in the record with its void.
    #[command(after_help = "Example:\n  tenths reading void 17 --reason \"wrong shaft\"")]
    Void {
        /// The reading's number.
        id: i64,
        /// Why it is wrong.
        #[arg(long)]
        reason: String,
    },
}

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  tenths assess P-104 --reference R --rule iso_14253_1_2017 --explain"
)]
pub(crate) struct Assess {
    /// The piece.
    pub(crate) piece: String,
    /// Only this feature.
    #[arg(long)]
    pub(crate) feature: Option<String>,
    /// The station that does not wear, where the item names none.
    #[arg(long, value_name = "STATION")]
    pub(crate) reference: Option<String>,
    /// How the proven ends are guarded; without it by the full guard band.
    #[arg(long, value_parser = words::decision_rule())]
    pub(crate) rule: Option<v1::DecisionRule>,
    /// Show every value with its source.
    #[arg(long)]
    pub(crate) explain: bool,
}

#[derive(Debug, Args)]
#[command(after_help = "Example:\n  tenths assessments P-104")]
pub(crate) struct Assessments {
    /// Only assessments of this piece.
    pub(crate) piece: Option<String>,
    /// Only assessments that rest on this gauge.
    #[arg(long)]
    pub(crate) gauge: Option<String>,
    #[command(flatten)]
    pub(crate) paging: Paging,
}
