//! Who may look, and who may answer.
//!
//! A page of another site must not reach us through somebody's browser: the host asked for must be ours (a name that is made
//! to point here is refused), and an answer must come from our own page. Beyond this machine a token is needed as well.

use std::net::SocketAddr;

use axum::http::header::{COOKIE, HOST, ORIGIN};
use axum::http::{HeaderMap, HeaderName};
use sha2::{Digest, Sha256};

use crate::screen::page::Viewer;
use crate::shell::hexadecimal::hex;

/// Where we are, and what opens the door there.
pub struct Guard {
    /// The hosts that we are asked for by, as in a `Host` header.
    hosts: Vec<String>,
    keys: Option<Keys>,
}

/// What opens the door to other machines.
struct Keys {
    look: String,
    answer: String,
    code: String,
}

/// The cookie that holds a key.
pub const COOKIE_NAME: &str = "leadhand";

/// Wrong codes after which nobody is paired any more.
pub const MOST_WRONG: u32 = 5;

/// Says to the server where a request comes from; every browser of today sends it.
const SITE: HeaderName = HeaderName::from_static("sec-fetch-site");

impl Guard {
    /// On this machine alone.
    pub fn here(address: SocketAddr) -> Self {
        let port = address.port();
        let hosts = ["127.0.0.1", "localhost", "[::1]"].map(|host| format!("{host}:{port}"));
        Self { hosts: hosts.to_vec(), keys: None }
    }

    /// For other machines too.
    pub fn beyond(address: SocketAddr, secret: [u8; 32]) -> Self {
        let key = |purpose: &str| {
            let digest = Sha256::new().chain_update(secret).chain_update(purpose).finalize();
            hex(&digest)
        };
        let number =
            key("code").bytes().fold(0_u32, |sum, byte| sum.wrapping_mul(31).wrapping_add(u32::from(byte)));
        let keys =
            Keys { look: key("look"), answer: key("answer"), code: format!("{:06}", number % 1_000_000) };
        Self { hosts: vec![address.to_string()], keys: Some(keys) }
    }

    /// The address to open.
    pub fn address(&self) -> String {
        let host = &self.hosts[0];
        self.keys
            .as_ref()
            .map_or(format!("http://{host}/"), |keys| format!("http://{host}/?key={}", keys.look))
    }

    /// The code that pairs a machine.
    pub fn code(&self) -> Option<&str> {
        self.keys.as_ref().map(|keys| keys.code.as_str())
    }

    /// The cookie for who came with the right key in the address.
    pub fn looker(&self, key: &str) -> Option<&str> {
        self.keys.as_ref().map(|keys| keys.look.as_str()).filter(|look| same(look, key))
    }

    /// The cookie for who typed the right code.
    pub fn paired(&self, code: &str) -> Option<&str> {
        self.keys.as_ref().filter(|keys| same(&keys.code, code)).map(|keys| keys.answer.as_str())
    }

    /// Is it us who are asked?
    pub fn is_asked(&self, headers: &HeaderMap) -> bool {
        one(headers, &HOST).is_some_and(|host| self.hosts.iter().any(|ours| ours.eq_ignore_ascii_case(host)))
    }

    /// What this viewer may do; `None` for nothing.
    pub fn viewer(&self, headers: &HeaderMap) -> Option<Viewer> {
        let Some(keys) = &self.keys else { return Some(Viewer::Hand) };
        let key = cookie(headers)?;
        if same(&keys.answer, key) {
            return Some(Viewer::Hand);
        }
        same(&keys.look, key).then_some(Viewer::Eye)
    }

    /// Does a request that changes something come from our own page, or from no page at all?
    pub fn is_own(headers: &HeaderMap) -> bool {
        let origin = match headers.get(ORIGIN) {
            None => true,
            Some(origin) => {
                origin.to_str().ok().and_then(|origin| origin.strip_prefix("http://")).is_some_and(|host| {
                    one(headers, &HOST).is_some_and(|asked| asked.eq_ignore_ascii_case(host))
                })
            }
        };
        origin && headers.get(SITE).is_none_or(|site| site == "same-origin")
    }
}

/// The value of a header that stands once.
fn one<'a>(headers: &'a HeaderMap, name: &HeaderName) -> Option<&'a str> {
    let mut values = headers.get_all(name).iter();
    let value = values.next()?;
    values.next().is_none().then(|| value.to_str().ok()).flatten()
}

fn cookie(headers: &HeaderMap) -> Option<&str> {
    let all = one(headers, &COOKIE)?;
    all.split(';').find_map(|pair| pair.trim().strip_prefix(COOKIE_NAME)?.strip_prefix('='))
}

/// Compares without saying by the time taken how much agrees.
fn same(ours: &str, theirs: &str) -> bool {
    let differ = ours.bytes().zip(theirs.bytes()).fold(0, |sum, (a, b)| sum | (a ^ b));
    ours.len() == theirs.len() && differ == 0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn headers(rows: &[(&'static str, &str)]) -> HeaderMap {
        let mut headers = HeaderMap::new();
        for (name, value) in rows {
            headers.append(HeaderName::from_static(name), value.parse().unwrap());
        }
        headers
    }

    #[test]
    fn only_our_own_name_is_answered() {
        let guard = Guard::here("127.0.0.1:8737".parse().unwrap());
        for (rows, asked) in [
            (&[("host", "127.0.0.1:8737")][..], true),
            (&[("host", "LOCALHOST:8737")], true),
            (&[("host", "[::1]:8737")], true),
            (&[("host", "127.0.0.1")], false),
            (&[("host", "127.0.0.1:80")], false),
            (&[("host", "kitchen.example:8737")], false),
            (&[("host", "127.0.0.1:8737"), ("host", "kitchen.example")], false),
            (&[], false),
        ] {
            assert_eq!(guard.is_asked(&headers(rows)), asked, "{rows:?}");
        }
    }

    #[test]
    fn only_our_own_page_answers() {
        let host = ("host", "127.0.0.1:8737");
        for (rows, own) in [
            (&[host][..], true),
            (&[host, ("origin", "http://127.0.0.1:8737")], true),
            (&[host, ("origin", "http://127.0.0.1:8737"), ("sec-fetch-site", "same-origin")], true),
            (&[host, ("origin", "http://localhost:8737")], false),
            (&[host, ("origin", "http://kitchen.example")], false),
            (&[host, ("origin", "null")], false),
            (&[host, ("sec-fetch-site", "cross-site")], false),
            (&[host, ("sec-fetch-site", "same-site")], false),
        ] {
            assert_eq!(Guard::is_own(&headers(rows)), own, "{rows:?}");
        }
    }

    #[test]
    fn beyond_this_machine_a_key_is_needed_and_a_code_to_answer() {
        let guard = Guard::beyond("192.0.2.7:9000".parse().unwrap(), [7; 32]);
        let address = guard.address();
        let key = address.split_once("key=").expect("a key").1;
        let look = guard.looker(key).expect("the right key").to_owned();
        let answer = guard.paired(guard.code().expect("a code")).expect("the right code").to_owned();
        assert_ne!(look, answer);
        let viewer = |cookie: &str| guard.viewer(&headers(&[("cookie", cookie)]));
        assert_eq!(viewer(&format!("leadhand={look}")), Some(Viewer::Eye));
        assert_eq!(viewer(&format!("other=1; leadhand={answer}")), Some(Viewer::Hand));
        for wrong in ["leadhand=", "leadhand=0", &format!("leadhand={look}0"), "other=1"] {
            assert_eq!(viewer(wrong), None, "{wrong}");
        }
        assert_eq!(guard.viewer(&HeaderMap::new()), None);
        assert!(guard.looker("").is_none() && guard.paired("").is_none() && guard.paired(&look).is_none());
    }
}
