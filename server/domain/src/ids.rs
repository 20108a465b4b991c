//! One identifier type per kind of thing, so that a lot's number can never be taken for a piece's.

macro_rules! id {
    ($($(#[$doc:meta])* $name:ident),* $(,)?) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub i64);
    )*};
}

id! {
    /// Row number of a catalogue item.
    ItemId,
    /// Row number of a feature of a catalogue item.
    FeatureId,
    /// Row number of a core.
    CoreId,
    /// Row number of a tagged piece.
    PieceId,
    /// Row number of a lot.
    LotId,
    /// Row number of a location.
    LocationId,
    /// Row number of a gauge.
    GaugeId,
    /// Row number of a reading.
    ReadingId,
    /// Row number of an assessment.
    AssessmentId,
    /// Row number of a recon job.
    JobId,
    /// Row number of an operation of a recon job.
    OperationId,
    /// Row number of a send-out.
    SendOutId,
    /// Row number of a rebuild.
    RebuildId,
    /// Row number of a reservation.
    ReservationId,
}
