//! Checks of the invariants over a whole database, for `tenthsd verify` and for tests.

use crate::error::StorageError;
use crate::store::Store;
use crate::tx::Tx;
use sea_orm::{ConnectionTrait, FromQueryResult, Statement};

/// What was checked and what was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Report {
    /// Every check, in the order made.
    pub checks: Vec<Check>,
}

impl Report {
    /// Whether no check found a break.
    pub fn is_sound(&self) -> bool {
        self.checks.iter().all(|check| check.breaks.is_empty())
    }
}

/// One invariant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Check {
    /// What must hold.
    pub name: &'static str,
    /// How many rows were looked at.
    pub rows_checked: i64,
    /// What does not hold, at most [`BREAKS_MAX`] of them.
    pub breaks: Vec<String>,
}

/// At most this many breaks of one invariant are named.
pub const BREAKS_MAX: usize = 100;

/// An invariant as two queries: how many rows there are to look at, and a text for each break.
struct Rule {
    name: &'static str,
    count: &'static str,
    breaks: &'static str,
}

/// The invariants of design section 9 that rows alone can show. `{now}` is the time of the check.
const RULES: &[Rule] = &[
    Rule {
        name: "lot on hand = sum of the ledger, per lot and location",
        count: "SELECT COUNT(*) AS n FROM lot_stock",
        breaks: "SELECT 'lot ' || lot_id || ' at location ' || location_id
                     || ': on hand ' || SUM(on_hand) || ', ledger ' || SUM(total) AS text
                 FROM (SELECT lot_id, location_id, on_hand, 0 AS total FROM lot_stock
                       UNION ALL SELECT lot_id, location_id, 0, quantity_delta FROM ledger
                       WHERE lot_id IS NOT NULL) both_sides
                 GROUP BY lot_id, location_id HAVING SUM(on_hand) <> SUM(total)",
    },
    Rule {
        name: "a piece is in exactly one place, and the ledger says so",
        count: "SELECT COUNT(*) AS n FROM pieces",
        breaks: "SELECT 'piece ' || p.tag || ' is ' || p.state || ', ledger has ' || COALESCE(SUM(l.total), 0)
                     || ' in ' || COUNT(l.location_id) || ' places' AS text
                 FROM pieces p
                 LEFT JOIN (SELECT piece_id, location_id, SUM(quantity_delta) AS total FROM ledger
                            WHERE piece_id IS NOT NULL GROUP BY piece_id, location_id
                            HAVING SUM(quantity_delta) <> 0) l ON l.piece_id = p.id
                 GROUP BY p.id, p.tag, p.state, p.location_id
                 HAVING NOT ((p.location_id IS NULL AND COUNT(l.location_id) = 0)
                     OR (p.location_id IS NOT NULL AND COUNT(l.location_id) = 1
                         AND SUM(l.total) = 1 AND MIN(l.location_id) = p.location_id))",
    },
    Rule {
        name: "a core is in exactly one place until it is torn down, and the ledger says so",
        count: "SELECT COUNT(*) AS n FROM cores",
        breaks: "SELECT 'core ' || c.tag || ' is ' || c.state || ', ledger has ' || COALESCE(SUM(l.total), 0)
                     || ' in ' || COUNT(l.location_id) || ' places' AS text
                 FROM cores c
                 LEFT JOIN (SELECT core_id, location_id, SUM(quantity_delta) AS total FROM ledger
                            WHERE core_id IS NOT NULL GROUP BY core_id, location_id
                            HAVING SUM(quantity_delta) <> 0) l ON l.core_id = c.id
                 GROUP BY c.id, c.tag, c.state, c.location_id
                 HAVING NOT ((c.location_id IS NULL AND COUNT(l.location_id) = 0)
                     OR (c.location_id IS NOT NULL AND COUNT(l.location_id) = 1
                         AND SUM(l.total) = 1 AND MIN(l.location_id) = c.location_id))",
    },
    Rule {
        name: "the running sum of the ledger is never negative",
        count: "SELECT COUNT(*) AS n FROM ledger",
        breaks: "SELECT 'ledger entry ' || id || ' leaves ' || running AS text FROM (
                     SELECT id, SUM(quantity_delta) OVER (
                         PARTITION BY core_id, piece_id, lot_id, location_id ORDER BY id) AS running
                     FROM ledger) sums WHERE running < 0",
    },
    Rule {
        name: "held = sum of active holds, per lot and location, and at most what is on hand",
        count: "SELECT COUNT(*) AS n FROM lot_stock",
        breaks: "SELECT 'lot ' || lot_id || ' at location ' || location_id || ': held ' || SUM(held) || ' of '
                     || SUM(on_hand) || ', active holds ' || SUM(total) AS text
                 FROM (SELECT lot_id, location_id, on_hand, held, 0 AS total FROM lot_stock
                       UNION ALL SELECT lot_id, location_id, 0, 0, quantity FROM reservations
                       WHERE state = 'active' AND lot_id IS NOT NULL) both_sides
                 GROUP BY lot_id, location_id
                 HAVING SUM(held) <> SUM(total) OR SUM(held) > SUM(on_hand) OR SUM(held) < 0",
    },
    Rule {
        name: "at most one active hold on a piece, and only on a piece in stock",
        count: "SELECT COUNT(*) AS n FROM reservations WHERE piece_id IS NOT NULL",
        breaks: "SELECT 'piece ' || p.tag || ' is ' || p.state || ' with ' || COUNT(*) || ' active holds' AS text
                 FROM reservations r JOIN pieces p ON p.id = r.piece_id
                 WHERE r.state = 'active' GROUP BY p.id, p.tag, p.state
                 HAVING COUNT(*) > 1 OR p.state <> 'in_stock'",
    },
    Rule {
        name: "a hold ends exactly once, and a consumed one has its ledger entry",
        count: "SELECT COUNT(*) AS n FROM reservations",
        breaks: "SELECT 'hold ' || r.tag || ' is ' || r.state AS text FROM reservations r
                 WHERE (r.state = 'active') <> (r.ended_at IS NULL)
                    OR (r.state = 'consumed' AND r.piece_id IS NOT NULL AND NOT EXISTS (
                        SELECT 1 FROM ledger l WHERE l.reason = 'consume' AND l.rebuild_id = r.rebuild_id
                            AND l.piece_id = r.piece_id AND l.quantity_delta = -1))",
    },
    Rule {
        name: "consumed quantities of lots = their ledger entries, per lot and rebuild",
        count: "SELECT COUNT(*) AS n FROM reservations WHERE lot_id IS NOT NULL AND state = 'consumed'",
        breaks: "SELECT 'lot ' || lot_id || ' for rebuild ' || rebuild_id || ': holds ' || SUM(held)
                     || ', ledger ' || SUM(total) AS text
                 FROM (SELECT lot_id, rebuild_id, quantity AS held, 0 AS total FROM reservations
                       WHERE state = 'consumed' AND lot_id IS NOT NULL
                       UNION ALL SELECT lot_id, rebuild_id, 0, -quantity_delta FROM ledger
                       WHERE reason = 'consume' AND lot_id IS NOT NULL) both_sides
                 GROUP BY lot_id, rebuild_id HAVING SUM(held) <> SUM(total)",
    },
    Rule {
        name: "no hold is active past its end by more than a minute",
        count: "SELECT COUNT(*) AS n FROM reservations WHERE state = 'active'",
        breaks: "SELECT 'hold ' || tag || ' should have expired' AS text FROM reservations
                 WHERE state = 'active' AND until_at < {now} - 60000000 AND {now} > 0",
    },
    Rule {
        name: "a piece has at most one open job, and is in reconditioning exactly while it has one",
        count: "SELECT COUNT(*) AS n FROM jobs",
        breaks: "SELECT 'piece ' || p.tag || ' is ' || p.state || ' with ' || COUNT(j.id) || ' open jobs' AS text
                 FROM pieces p LEFT JOIN jobs j ON j.piece_id = p.id AND j.state <> 'done'
                 GROUP BY p.id, p.tag, p.state
                 HAVING COUNT(j.id) <> (CASE WHEN p.state = 'reconditioning' THEN 1 ELSE 0 END)",
    },
    Rule {
        name: "a job has been claimed as often as its fencing token says",
        count: "SELECT COUNT(*) AS n FROM jobs",
        breaks: "SELECT 'job ' || tag || ': token ' || fencing_token || ', attempts ' || attempt AS text
                 FROM jobs WHERE fencing_token <> attempt OR (state = 'claimed' AND attempt = 0)",
    },
    Rule {
        name: "an open job is at one operation that is open, an ended one has none",
        count: "SELECT COUNT(*) AS n FROM jobs",
        breaks: "SELECT 'job ' || j.tag || ' is ' || j.state || ', its operation '
                     || COALESCE(j.operation_position, 0) || ' is ' || COALESCE(o.state, 'not there') AS text
                 FROM jobs j
                 LEFT JOIN operations o ON o.job_id = j.id AND o.position = j.operation_position
                 WHERE NOT ((j.state = 'done' AND j.operation_position IS NULL AND NOT EXISTS (
                         SELECT 1 FROM operations x
                         WHERE x.job_id = j.id AND x.state NOT IN ('done', 'rejected', 'skipped')))
                     OR (j.state IN ('queued', 'claimed')
                         AND COALESCE(o.state, '') IN ('ready', 'started', 'paused')
                         AND COALESCE(o.machine = j.machine AND o.site = j.site, FALSE))
                     OR (j.state = 'away' AND COALESCE(o.state, '') = 'sent'))",
    },
    Rule {
        name: "operations end in the order of their route",
        count: "SELECT COUNT(*) AS n FROM operations",
        breaks: "SELECT 'operation ' || o.position || ' of job ' || j.tag || ' is ' || o.state
                     || ' and a later one has ended' AS text
                 FROM operations o JOIN jobs j ON j.id = o.job_id
                 WHERE o.state NOT IN ('done', 'rejected', 'skipped') AND EXISTS (
                     SELECT 1 FROM operations x WHERE x.job_id = o.job_id
                         AND x.position > o.position AND x.state IN ('done', 'rejected', 'skipped'))",
    },
    Rule {
        name: "a job that ended in stock had every operation done",
        count: "SELECT COUNT(*) AS n FROM jobs WHERE outcome = 'to_stock'",
        breaks: "SELECT 'operation ' || o.position || ' of job ' || j.tag || ' is ' || o.state AS text
                 FROM operations o JOIN jobs j ON j.id = o.job_id
                 WHERE j.outcome = 'to_stock' AND o.state <> 'done'",
    },
    Rule {
        name: "what is out on a send-out is at its vendor with its job away, and nothing else is away",
        count: "SELECT COUNT(*) AS n FROM send_out_lines",
        breaks: "SELECT 'send-out ' || s.tag || ' line ' || l.line || ': piece ' || p.tag
                     || ' is elsewhere, or its job is not away: ' || j.state AS text
                 FROM send_out_lines l JOIN send_outs s ON s.id = l.send_out_id
                 JOIN pieces p ON p.id = l.piece_id JOIN jobs j ON j.id = l.job_id
                 WHERE l.state = 'out'
                     AND (COALESCE(p.location_id, 0) <> s.location_id OR j.state <> 'away')
                 UNION ALL
                 SELECT 'job ' || j.tag || ' is away and on no send-out' FROM jobs j
                 WHERE j.state = 'away' AND NOT EXISTS (
                     SELECT 1 FROM send_out_lines l WHERE l.job_id = j.id AND l.state = 'out')
                 UNION ALL
                 SELECT 'send-out ' || s.tag || ' is closed before its lines, or not with them'
                 FROM send_outs s WHERE (s.closed_at IS NULL) <> EXISTS (
                     SELECT 1 FROM send_out_lines l WHERE l.send_out_id = s.id AND l.state = 'out')",
    },
    Rule {
        name: "the size kept for a feature is what its standing readings of the round say",
        count: "SELECT COUNT(*) AS n FROM piece_sizes",
        breaks: "SELECT 'piece ' || p.tag || ' feature ' || f.name || ': kept ' || COALESCE(s.min_nm, -1) || '..'
                     || COALESCE(s.max_nm, -1) || ' nm of ' || s.reading_count || ', readings say '
                     || COALESCE(r.low, -1) || '..' || COALESCE(r.high, -1) || ' nm of ' || COALESCE(r.n, 0) AS text
                 FROM piece_sizes s JOIN pieces p ON p.id = s.piece_id JOIN features f ON f.id = s.feature_id
                 LEFT JOIN (SELECT r.piece_id, r.feature_id, r.round, COUNT(*) AS n,
                                MIN(CASE WHEN r.station = f.reference_station THEN NULL ELSE r.at_20c_nm END) AS low,
                                MAX(CASE WHEN r.station = f.reference_station THEN NULL ELSE r.at_20c_nm END) AS high
                            FROM readings r JOIN features f ON f.id = r.feature_id
                            LEFT JOIN reading_voids v ON v.reading_id = r.id
                            WHERE v.id IS NULL AND NOT EXISTS (
                                SELECT 1 FROM readings n LEFT JOIN reading_voids w ON w.reading_id = n.id
                                WHERE w.id IS NULL AND n.piece_id = r.piece_id AND n.feature_id = r.feature_id
                                    AND n.round = r.round AND n.station = r.station
                                    AND n.orientation_deg = r.orientation_deg
                                    AND n.request_id <> r.request_id AND n.id > r.id)
                            GROUP BY r.piece_id, r.feature_id, r.round) r
                   ON r.piece_id = s.piece_id AND r.feature_id = s.feature_id AND r.round = s.round
                 WHERE s.reading_count <> COALESCE(r.n, 0)
                    OR COALESCE(s.min_nm, -1) <> COALESCE(r.low, -1)
                    OR COALESCE(s.max_nm, -1) <> COALESCE(r.high, -1)",
    },
    Rule {
        name: "every recorded assessment rests on readings of its piece, feature and round",
        count: "SELECT COUNT(*) AS n FROM assessments",
        breaks: "SELECT 'assessment ' || a.id || ' rests on ' || COUNT(r.id) || ' readings, '
                     || COUNT(CASE WHEN r.piece_id = a.piece_id AND r.feature_id = a.feature_id AND r.round = a.round
                              THEN 1 END) || ' of its own' AS text
                 FROM assessments a
                 LEFT JOIN assessment_readings x ON x.assessment_id = a.id
                 LEFT JOIN readings r ON r.id = x.reading_id
                 GROUP BY a.id
                 HAVING COUNT(r.id) = 0 OR COUNT(r.id) <> COUNT(CASE WHEN r.piece_id = a.piece_id
                     AND r.feature_id = a.feature_id AND r.round = a.round THEN 1 END)",
    },
    Rule {
        name: "every ledger entry and reading belongs to a request that was kept",
        count: "SELECT COUNT(*) AS n FROM requests",
        breaks: "SELECT what || ' ' || id || ' names request ' || request_id AS text FROM (
                     SELECT 'ledger entry' AS what, id, request_id FROM ledger
                     UNION ALL SELECT 'reading', id, request_id FROM readings) rows
                 WHERE NOT EXISTS (SELECT 1 FROM requests q WHERE q.request_id = rows.request_id)",
    },
];

#[derive(FromQueryResult)]
struct Count {
    n: i64,
}

#[derive(FromQueryResult)]
struct Break {
    text: String,
}

/// Checks every invariant within one snapshot. `now_us` is the time in Unix microseconds.
///
/// # Errors
/// A database that does not answer.
pub async fn run(store: &Store, now_us: i64) -> Result<Report, StorageError> {
    store
        .read(move |tx| {
            Box::pin(async move {
                let mut checks = Vec::with_capacity(RULES.len());
                for rule in RULES {
                    checks.push(check(tx, rule, now_us).await?);
                }
                Ok(Report { checks })
            })
        })
        .await
}

async fn check(tx: &Tx, rule: &Rule, now_us: i64) -> Result<Check, StorageError> {
    let backend = tx.inner.get_database_backend();
    let count = Count::find_by_statement(Statement::from_string(backend, rule.count))
        .one(&tx.inner)
        .await?;
    let text = format!("{} LIMIT {BREAKS_MAX}", rule.breaks.replace("{now}", &now_us.to_string()));
    let breaks =
        Break::find_by_statement(Statement::from_string(backend, text)).all(&tx.inner).await?;
    Ok(Check {
        name: rule.name,
        rows_checked: count.map_or(0, |count| count.n),
        breaks: breaks.into_iter().map(|found| found.text).collect(),
    })
}
