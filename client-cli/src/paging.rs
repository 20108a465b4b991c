//! Lists page by page: one page with the token of the next, or all of them in turn.

use crate::args::Paging;
use crate::connect::Session;
use crate::failure::Failure;
use crate::output::reflect::{Shown, seen};
use prost_reflect::{DynamicMessage, Value};
use tenths_proto::v1;

/// A list request whose page can be set.
pub(crate) trait Paged: Clone {
    fn turn_to(&mut self, page_size: i32, page_token: String);
}

/// A list answer that says where to go on.
pub(crate) trait Page: Shown {
    fn next_page_token(&self) -> &str;
}

macro_rules! paged {
    ($($request:ident -> $response:ident;)*) => { $(
        impl Paged for v1::$request {
            fn turn_to(&mut self, page_size: i32, page_token: String) {
                self.page_size = page_size;
                self.page_token = page_token;
            }
        }

        impl Page for v1::$response {
            fn next_page_token(&self) -> &str {
                &self.next_page_token
            }
        }
    )* };
}

paged! {
    ListItemsRequest -> ListItemsResponse;
    ListCoresRequest -> ListCoresResponse;
    ListLocationsRequest -> ListLocationsResponse;
    ListPiecesRequest -> ListPiecesResponse;
    ListLotsRequest -> ListLotsResponse;
    ListLedgerEntriesRequest -> ListLedgerEntriesResponse;
    ListGaugesRequest -> ListGaugesResponse;
    ListReadingsRequest -> ListReadingsResponse;
    ListAssessmentsRequest -> ListAssessmentsResponse;
    ListJobsRequest -> ListJobsResponse;
    ListPoliciesRequest -> ListPoliciesResponse;
    ListRebuildsRequest -> ListRebuildsResponse;
    ListRepairDecisionsRequest -> ListRepairDecisionsResponse;
    ListReservationsRequest -> ListReservationsResponse;
    ListSendOutsRequest -> ListSendOutsResponse;
}

/// Lists `part` of the answers to `request` and prints it; `send` makes the call for one page.
pub(crate) async fn list<Q: Paged, A: Page>(
    session: &mut Session,
    paging: &Paging,
    mut request: Q,
    part: &str,
    send: impl AsyncFn(&Session, Q) -> Result<A, Failure>,
) -> Result<(), Failure> {
    let mut token = paging.page_token.clone().unwrap_or_default();
    let mut whole: Option<DynamicMessage> = None;
    loop {
        request.turn_to(paging.page_size, token.clone());
        let answer = send(session, request.clone()).await?;
        let next = answer.next_page_token().to_owned();
        let page = seen(&answer)?;
        whole = Some(match whole {
            None => page,
            Some(before) => joined(before, page, part),
        });
        // A token that repeats would never end.
        let at_end = next.is_empty() || next == token;
        token = next;
        if at_end || !paging.all {
            break;
        }
    }
    if let Some(whole) = whole {
        session.printer.seen_rows(&whole, &[part])?;
    }
    if !token.is_empty() {
        session.printer.aside(&format!("there is more: --page-token {token}, or --all"))?;
    }
    Ok(())
}

/// The later page with the rows of the earlier ones in front.
fn joined(mut before: DynamicMessage, mut after: DynamicMessage, part: &str) -> DynamicMessage {
    let rows = |page: &mut DynamicMessage| match page.get_field_by_name_mut(part) {
        Some(Value::List(rows)) => std::mem::take(rows),
        _ => Vec::new(),
    };
    let mut all = rows(&mut before);
    all.append(&mut rows(&mut after));
    after.set_field_by_name(part, Value::List(all));
    after
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pages_are_joined_in_order_and_keep_the_last_token() {
        let page = |codes: &[&str], token: &str| {
            let item = |code: &&str| v1::Item { code: (*code).into(), ..Default::default() };
            seen(&v1::ListItemsResponse {
                items: codes.iter().map(item).collect(),
                next_page_token: token.into(),
            })
            .unwrap()
        };
        let joined = joined(page(&["A", "B"], "t1"), page(&["C"], ""), "items");
        assert_eq!(joined, page(&["A", "B", "C"], ""));
    }
}
