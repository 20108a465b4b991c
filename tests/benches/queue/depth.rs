//! How long a claim of the next job and a plan of the machine take, by how many jobs wait.

use std::time::{Duration, Instant};

use tenths_proto::v1::{ClaimJobRequest, PlanDayRequest, ReleaseClaimRequest, WorkMachine};
use tenths_tests::{Clients, Server, request_id};
use tokio::task::JoinSet;

use crate::Outcome;
use crate::fill;

const WORKERS: u32 = 8;
/// Claims of each worker before the timed ones, so that caches are warm.
const WARM_UP: u32 = 20;
/// Plans asked for; the middle one is shown.
const PLANS: usize = 5;

/// Times so many claims at each depth, and prints them beside those of the first.
///
/// # Errors
/// A database or a server that does not answer.
pub(crate) async fn run(depths: &[u32], claims: u32) -> Outcome<()> {
    println!("\n{WORKERS} workers, one server; each claim is given back, so the depth stays.\n");
    println!("| depth | claims | p50 ms | p99 ms | p50 / first | p99 / first | a plan, ms |");
    println!("|---|---|---|---|---|---|---|");
    let mut first = None;
    for depth in depths {
        let (latencies, plan) = at_depth(*depth, claims).await?;
        let [p50, p99] = [0.5, 0.99].map(|share| percentile_ms(&latencies, share));
        let (base50, base99) = *first.get_or_insert((p50, p99));
        println!(
            "| {depth} | {} | {p50:.2} | {p99:.2} | {:.2} | {:.2} | {:.0} |",
            latencies.len(),
            p50 / base50,
            p99 / base99,
            plan.as_secs_f64() * 1_000.0
        );
    }
    Ok(())
}

/// The latencies of the claims, shortest first, and that of a plan.
async fn at_depth(depth: u32, claims: u32) -> Outcome<(Vec<Duration>, Duration)> {
    let filled = fill::one_job().await?;
    filled.copy_to(depth).await?;
    let server = Server::start(&filled.database, &[]);
    let mut workers = JoinSet::new();
    for _ in 0..WORKERS {
        let clients = Clients::connect(&server).await;
        workers.spawn(async move { claim_and_release(&clients, claims.div_ceil(WORKERS)).await });
    }
    let mut latencies = Vec::new();
    while let Some(worker) = workers.join_next().await {
        latencies.extend(worker??);
    }
    latencies.sort_unstable();
    Ok((latencies, plan(&Clients::connect(&server).await).await?))
}

/// How long a plan of the machine takes that all of the jobs wait for.
async fn plan(clients: &Clients) -> Result<Duration, tonic::Status> {
    let machine = WorkMachine::BuildUpPlant.into();
    let request = PlanDayRequest { machine, day_minutes: None, assumed_minutes: Some(30) };
    let mut latencies = [Duration::ZERO; PLANS];
    for latency in &mut latencies {
        let asked = Instant::now();
        clients.planning().plan_day(request).await?;
        *latency = asked.elapsed();
    }
    latencies.sort_unstable();
    Ok(latencies[PLANS / 2])
}

async fn claim_and_release(clients: &Clients, claims: u32) -> Result<Vec<Duration>, tonic::Status> {
    let (mut queue, person) = (clients.reconditioning(), "mara".to_owned());
    let mut latencies = Vec::new();
    for number in 0..WARM_UP + claims {
        let request = ClaimJobRequest {
            request_id: request_id(),
            person: person.clone(),
            ..Default::default()
        };
        let asked = Instant::now();
        let claim = queue.claim_job(request).await?.into_inner();
        if number >= WARM_UP {
            latencies.push(asked.elapsed());
        }
        let request = ReleaseClaimRequest {
            request_id: request_id(),
            person: person.clone(),
            tag: claim.job.unwrap_or_default().tag,
            fencing_token: claim.fencing_token,
        };
        queue.release_claim(request).await?;
    }
    Ok(latencies)
}

fn percentile_ms(sorted: &[Duration], share: f64) -> f64 {
    let place = (sorted.len() as f64 * share).ceil() as usize;
    let latency = sorted.get(place.saturating_sub(1));
    latency.map_or(f64::NAN, |latency| latency.as_secs_f64() * 1_000.0)
}
