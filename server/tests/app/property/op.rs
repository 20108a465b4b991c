//! What can happen in a history, and how likely.

use proptest::collection::vec;
use proptest::prelude::*;

/// What happens, in order.
pub(crate) type History = Vec<Op>;

/// One thing that happens. Numbers stand for things as `pick` finds them: mostly some that the step
/// can be done with.
#[derive(Clone, Debug)]
pub(crate) enum Op {
    ReceivePiece {
        item: u8,
        is_new: bool,
    },
    ReceiveLot {
        quantity: i64,
        shelf: u8,
    },
    LogCore {
        shelf: u8,
    },
    TearDown {
        core: u8,
        items: Vec<u8>,
    },
    Read {
        piece: u8,
        line: u8,
        keep: bool,
    },
    Void {
        reading: u8,
    },
    Assess {
        piece: u8,
    },
    Accept {
        piece: u8,
        anyway: bool,
        etag: Option<i64>,
    },
    Scrap {
        piece: u8,
    },
    Enqueue {
        piece: u8,
        method: u8,
        target: u8,
        at_vendor: bool,
    },
    Claim {
        job: Option<u8>,
        minutes: i64,
    },
    Renew {
        job: u8,
        late: i64,
    },
    GiveBack {
        job: u8,
        late: i64,
    },
    Finish {
        job: u8,
        late: i64,
        line: u8,
        keep: bool,
    },
    ScrapJob {
        job: u8,
        late: i64,
    },
    /// Starts, pauses, finishes or rejects the operation of a claim.
    Operate {
        job: u8,
        late: i64,
        how: u8,
    },
    SendOut {
        jobs: Vec<u8>,
    },
    TakeBack {
        send_out: u8,
        short: bool,
    },
    Reserve {
        rebuild: u8,
        pieces: Vec<u8>,
        lots: Vec<(u8, i64)>,
        minutes: i64,
    },
    Release {
        holds: Vec<u8>,
    },
    Extend {
        hold: u8,
        minutes: i64,
        etag: Option<i64>,
    },
    Consume {
        rebuild: u8,
        holds: Vec<u8>,
    },
    Move {
        piece: u8,
        shelf: u8,
        etag: Option<i64>,
    },
    MoveLot {
        lot: u8,
        from: u8,
        to: u8,
        quantity: i64,
    },
    Adjust {
        lot: u8,
        shelf: u8,
        counted: i64,
    },
    OpenRebuild,
    Close {
        rebuild: u8,
        shipped: bool,
    },
    GaugeState {
        state: u8,
        etag: i64,
    },
    /// An earlier step again, as the same request; the number is how many steps back.
    Repeat {
        back: u8,
    },
    /// Time passes, in minutes.
    Pass {
        minutes: i64,
    },
    /// The background ends what ran out.
    Expire,
}

fn etag() -> impl Strategy<Value = Option<i64>> {
    prop_oneof![8 => Just(None), 1 => (1..6i64).prop_map(Some)]
}

fn receiving() -> impl Strategy<Value = Op> {
    prop_oneof![
        3 => (0..3u8, any::<bool>()).prop_map(|(item, is_new)| Op::ReceivePiece { item, is_new }),
        2 => (1..8i64, 0..8u8).prop_map(|(quantity, shelf)| Op::ReceiveLot { quantity, shelf }),
        2 => (0..8u8).prop_map(|shelf| Op::LogCore { shelf }),
        2 => (1..9u8, vec(0..3u8, 1..3)).prop_map(|(core, items)| Op::TearDown { core, items }),
        1 => Just(Op::OpenRebuild),
    ]
}

fn measuring() -> impl Strategy<Value = Op> {
    prop_oneof![
        6 => (1..8u8, 0..10u8, prop::bool::weighted(0.6))
            .prop_map(|(piece, line, keep)| Op::Read { piece, line, keep }),
        1 => (0..12u8).prop_map(|reading| Op::Void { reading }),
        3 => (1..8u8).prop_map(|piece| Op::Assess { piece }),
        4 => (1..8u8, prop::bool::weighted(0.7), etag())
            .prop_map(|(piece, anyway, etag)| Op::Accept { piece, anyway, etag }),
        1 => (0..4u8, 1..4i64).prop_map(|(state, etag)| Op::GaugeState { state, etag }),
    ]
}

fn reconditioning() -> impl Strategy<Value = Op> {
    let job = || (1..9u8, prop_oneof![6 => Just(0i64), 1 => Just(1i64)]);
    prop_oneof![
        4 => (1..8u8, 0..8u8, 0..8u8, prop::bool::weighted(0.4)).prop_map(
            |(piece, method, target, at_vendor)| Op::Enqueue { piece, method, target, at_vendor }
        ),
        4 => (prop::option::of(1..9u8), 60..900i64)
            .prop_map(|(job, minutes)| Op::Claim { job, minutes }),
        1 => job().prop_map(|(job, late)| Op::Renew { job, late }),
        1 => job().prop_map(|(job, late)| Op::GiveBack { job, late }),
        4 => (job(), 0..10u8, prop::bool::weighted(0.7))
            .prop_map(|((job, late), line, keep)| Op::Finish { job, late, line, keep }),
        2 => job().prop_map(|(job, late)| Op::ScrapJob { job, late }),
        3 => (job(), 0..8u8).prop_map(|((job, late), how)| Op::Operate { job, late, how }),
        2 => vec(1..9u8, 1..3).prop_map(|jobs| Op::SendOut { jobs }),
        2 => (1..9u8, prop::bool::weighted(0.2))
            .prop_map(|(send_out, short)| Op::TakeBack { send_out, short }),
        1 => (1..8u8).prop_map(|piece| Op::Scrap { piece }),
    ]
}

fn holding() -> impl Strategy<Value = Op> {
    prop_oneof![
        6 => (1..3u8, vec(1..8u8, 0..3), vec((1..3u8, 1..5i64), 0..2), 5..300i64)
            .prop_filter_map("a line at least", |(rebuild, pieces, lots, minutes)| {
                let some = !(pieces.is_empty() && lots.is_empty());
                some.then_some(Op::Reserve { rebuild, pieces, lots, minutes })
            }),
        2 => vec(1..9u8, 1..3).prop_map(|holds| Op::Release { holds }),
        2 => (1..9u8, -10..300i64, etag())
            .prop_map(|(hold, minutes, etag)| Op::Extend { hold, minutes, etag }),
        3 => (1..3u8, vec(1..9u8, 0..2)).prop_map(|(rebuild, holds)| Op::Consume { rebuild, holds }),
        1 => (1..8u8, any::<bool>()).prop_map(|(rebuild, shipped)| Op::Close { rebuild, shipped }),
    ]
}

fn moving() -> impl Strategy<Value = Op> {
    prop_oneof![
        2 => (1..8u8, 0..8u8, etag()).prop_map(|(piece, shelf, etag)| Op::Move { piece, shelf, etag }),
        2 => (1..3u8, 0..8u8, 0..8u8, 1..6i64)
            .prop_map(|(lot, from, to, quantity)| Op::MoveLot { lot, from, to, quantity }),
        2 => (1..3u8, 0..8u8, 0..12i64)
            .prop_map(|(lot, shelf, counted)| Op::Adjust { lot, shelf, counted }),
    ]
}

fn op() -> impl Strategy<Value = Op> {
    prop_oneof![
        4 => receiving(),
        7 => measuring(),
        7 => reconditioning(),
        8 => holding(),
        3 => moving(),
        2 => (1..10u8).prop_map(|back| Op::Repeat { back }),
        2 => (1..90i64).prop_map(|minutes| Op::Pass { minutes }),
        1 => Just(Op::Expire),
    ]
}

/// Histories of 50 to 60 steps.
pub(crate) fn histories() -> impl Strategy<Value = History> {
    vec(op(), 50..=60)
}
