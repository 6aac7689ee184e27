//! The routes of the page. Every one of them passes the guard first.

use std::convert::Infallible;
use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::time::Duration;

use axum::Router;
use axum::body::Bytes;
use axum::extract::{DefaultBodyLimit, Request, State};
use axum::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, CONTENT_TYPE, LOCATION, REFERRER_POLICY, SET_COOKIE,
    X_CONTENT_TYPE_OPTIONS,
};
use axum::http::{HeaderMap, HeaderName, HeaderValue, StatusCode, Uri};
use axum::middleware::{self, Next};
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use tokio_stream::wrappers::WatchStream;
use tokio_stream::{Stream, StreamExt};

use super::guard::{COOKIE_NAME, Guard, MOST_WRONG};
use super::{House, LONGEST_ANSWER, MOST_VIEWERS};
use crate::screen::page::{self, Viewer};
use crate::shell::console::Typed;

/// How often a page that nothing happens on is told that we are still there.
const STILL_THERE: Duration = Duration::from_secs(10);

/// Nothing from elsewhere is loaded, nothing inside the page is run, nobody frames it.
const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; form-action 'self'; \
                      base-uri 'none'; frame-ancestors 'none'";

const PRIVATE: [(HeaderName, HeaderValue); 4] = [
    (CONTENT_SECURITY_POLICY, HeaderValue::from_static(POLICY)),
    (X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff")),
    (REFERRER_POLICY, HeaderValue::from_static("no-referrer")),
    (CACHE_CONTROL, HeaderValue::from_static("no-store")),
];

pub(super) fn router(house: House) -> Router {
    let house = Arc::new(house);
    Router::new()
        .route("/", get(document))
        .route("/events", get(events))
        .route("/style.css", get(|| async { ([(CONTENT_TYPE, "text/css; charset=utf-8")], page::STYLE) }))
        .route(
            "/script.js",
            get(|| async { ([(CONTENT_TYPE, "text/javascript; charset=utf-8")], page::SCRIPT) }),
        )
        .route("/icon.svg", get(|| async { ([(CONTENT_TYPE, "image/svg+xml")], page::ICON) }))
        .route("/answer", post(answer))
        .route("/pair", post(pair))
        .layer(DefaultBodyLimit::max(LONGEST_ANSWER))
        .layer(middleware::from_fn_with_state(Arc::clone(&house), guarded))
        .with_state(house)
}

/// Lets nobody through who asks for another host, or who has no key where one is needed.
async fn guarded(State(house): State<Arc<House>>, request: Request, next: Next) -> Response {
    let refuse = |status: StatusCode, why: &'static str| (status, why).into_response();
    let mut response = if !house.guard.is_asked(request.headers()) {
        refuse(StatusCode::MISDIRECTED_REQUEST, "Ask for the address that the program shows.\n")
    } else if let Some(key) = key(request.uri()) {
        match house.guard.looker(key) {
            Some(key) => with_cookie(key),
            None => refuse(StatusCode::FORBIDDEN, "That is not the key.\n"),
        }
    } else if house.guard.viewer(request.headers()).is_none() {
        refuse(StatusCode::FORBIDDEN, "Open the whole address that the program shows.\n")
    } else if request.method() != "GET" && !Guard::is_own(request.headers()) {
        refuse(StatusCode::FORBIDDEN, "Answers come from the page itself.\n")
    } else {
        next.run(request).await
    };
    response.headers_mut().extend(PRIVATE);
    response
}

/// The key of an address, `/?key=…`.
fn key(uri: &Uri) -> Option<&str> {
    if uri.path() != "/" {
        return None;
    }
    uri.query()?.strip_prefix("key=")
}

/// Back to the page, with a key that the browser keeps to itself, so that it stands in no address.
fn with_cookie(key: &str) -> Response {
    let cookie = format!("{COOKIE_NAME}={key}; HttpOnly; SameSite=Strict; Path=/");
    (StatusCode::SEE_OTHER, [(SET_COOKIE, cookie), (LOCATION, "/".to_owned())]).into_response()
}

async fn document(State(house): State<Arc<House>>, headers: HeaderMap) -> Response {
    let viewer = house.guard.viewer(&headers).unwrap_or(Viewer::Eye);
    let shown = house.shown.borrow().clone();
    let html = page::document(&shown.glance, shown.mood, viewer);
    ([(CONTENT_TYPE, "text/html; charset=utf-8")], html).into_response()
}

/// Everything that changes, each time that anything does; the newest where a viewer is slow.
async fn events(State(house): State<Arc<House>>, headers: HeaderMap) -> Response {
    let viewer = house.guard.viewer(&headers).unwrap_or(Viewer::Eye);
    let Some(seat) = Seat::take(Arc::clone(&house)) else {
        return (StatusCode::SERVICE_UNAVAILABLE, "So many pages are open that no more can be.\n")
            .into_response();
    };
    Sse::new(told(seat, viewer, house.shown.clone()))
        .keep_alive(KeepAlive::new().interval(STILL_THERE))
        .into_response()
}

fn told(
    seat: Seat,
    viewer: Viewer,
    shown: tokio::sync::watch::Receiver<super::Shown>,
) -> impl Stream<Item = Result<Event, Infallible>> {
    WatchStream::new(shown).map(move |shown| {
        // The seat lasts as long as the stream.
        let _taken = &seat;
        Ok(Event::default().data(page::parts(&shown.glance, shown.mood, viewer)))
    })
}

/// A viewer's place, given back when dropped.
struct Seat(Arc<House>);

impl Seat {
    fn take(house: Arc<House>) -> Option<Self> {
        let one_more = |now: usize| (now < MOST_VIEWERS).then_some(now + 1);
        house.viewers.fetch_update(Ordering::Relaxed, Ordering::Relaxed, one_more).ok()?;
        Some(Self(house))
    }
}

impl Drop for Seat {
    fn drop(&mut self) {
        self.0.viewers.fetch_sub(1, Ordering::Relaxed);
    }
}

async fn answer(State(house): State<Arc<House>>, headers: HeaderMap, body: Bytes) -> Response {
    if house.guard.viewer(&headers) != Some(Viewer::Hand) {
        return (StatusCode::FORBIDDEN, "This page only shows; pair it first.\n").into_response();
    }
    let Some(words) = field(&body, "words").filter(|words| !words.trim().is_empty()) else {
        return (StatusCode::BAD_REQUEST, "There are no words in that.\n").into_response();
    };
    let Some(turn) = field(&body, "turn").and_then(|turn| turn.parse().ok()) else {
        return (StatusCode::BAD_REQUEST, "It does not say which question it answers.\n").into_response();
    };
    match house.answers.try_send(Typed::Answer { turn, words }) {
        Ok(()) => back(),
        Err(_) => (StatusCode::SERVICE_UNAVAILABLE, "Answers wait already.\n").into_response(),
    }
}

async fn pair(State(house): State<Arc<House>>, body: Bytes) -> Response {
    if house.wrong.load(Ordering::Relaxed) >= MOST_WRONG {
        let why = "Too many wrong codes: nobody is paired any more. Start the program again.\n";
        return (StatusCode::FORBIDDEN, why).into_response();
    }
    let code = field(&body, "code").unwrap_or_default();
    if let Some(key) = house.guard.paired(code.trim()) {
        return with_cookie(key);
    }
    house.wrong.fetch_add(1, Ordering::Relaxed);
    (StatusCode::FORBIDDEN, "That is not the code.\n").into_response()
}

fn back() -> Response {
    (StatusCode::SEE_OTHER, [(LOCATION, "/")]).into_response()
}

/// A field of a form, as browsers send it: the first that is not empty, since a form without script sends its empty line too.
/// `None` where it is missing or no text.
fn field(body: &[u8], name: &str) -> Option<String> {
    let text = std::str::from_utf8(body).ok()?;
    let named = |pair: &'_ str| {
        pair.strip_prefix(name).and_then(|pair| pair.strip_prefix('=')).is_some_and(|value| !value.is_empty())
    };
    let value = text.split('&').find(|pair| named(pair))?.split_once('=')?.1;
    let mut bytes = Vec::new();
    let mut rest = value.bytes();
    while let Some(byte) = rest.next() {
        bytes.push(match byte {
            b'+' => b' ',
            b'%' => {
                let two = [rest.next()?, rest.next()?];
                u8::from_str_radix(std::str::from_utf8(&two).ok()?, 16).ok()?
            }
            other => other,
        });
    }
    // What is no letter, such as a line's end, is a space.
    String::from_utf8(bytes).ok().map(|text| text.replace(char::is_control, " "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_field_is_read_as_browsers_send_it() {
        for (body, wanted) in [
            (&b"words=ten+point+seven+ohms"[..], Some("ten point seven ohms")),
            (b"a=1&words=72%20%CE%A9", Some("72 Ω")),
            (b"words=", None),
            (b"words=&turn=2&words=say+again", Some("say again")),
            (b"words=a%0Ab", Some("a b")),
            (b"words=%C", None),
            (b"words=%FF", None),
            (b"wordsx=1", None),
            (b"\xff\xfe", None),
            (b"", None),
        ] {
            assert_eq!(field(body, "words").as_deref(), wanted, "{body:?}");
        }
    }
}
