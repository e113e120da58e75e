//! The commands that talk to a running daemon, over the same interface as the page.

use std::time::Duration;

use serde_json::{Value, json};
use ureq::Agent;

use crate::attention::PINS_OUTLIVE;
use crate::cli::{Exit, remark, tell};

/// A step takes a second at most; a light-up forecasts the firing first, slow on a small board.
const PATIENCE: Duration = Duration::from_secs(20);

/// The phases in which no firing is under way, none is set for later, and no trip waits.
const AT_REST: [&str; 2] = ["resting", "cool-enough-to-open"];

/// How an answer is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// In a sentence.
    Words,
    /// As it came.
    Json,
}

/// What `--json` asks for.
#[must_use]
pub const fn form(json: bool) -> Form {
    if json { Form::Json } else { Form::Words }
}

/// A daemon somewhere.
#[derive(Debug)]
pub struct Client {
    agent: Agent,
    daemon: String,
}

/// Why there is no answer.
#[derive(Debug, thiserror::Error)]
enum Unanswered {
    #[error("no daemon answers at {daemon}: {why}. Is `saggar serve` running?")]
    NoDaemon { daemon: String, why: Box<ureq::Error> },
    #[error("what answers at {daemon} is no saggar daemon")]
    Stranger { daemon: String },
}

struct Answer {
    status: u16,
    body: Value,
}

impl Client {
    /// The daemon at an address such as `127.0.0.1:8471`, or as browsers show it.
    #[must_use]
    pub fn new(daemon: &str) -> Self {
        let daemon = daemon.trim_start_matches("http://").trim_end_matches('/').to_owned();
        let config = Agent::config_builder().timeout_global(Some(PATIENCE)).http_status_as_error(false);
        Self { agent: config.build().into(), daemon }
    }

    fn get(&self, path: &str) -> Result<Answer, Unanswered> {
        let url = format!("http://{}{path}", self.daemon);
        self.read(self.agent.get(&url).call())
    }

    fn post(&self, path: &str, body: &Value) -> Result<Answer, Unanswered> {
        let url = format!("http://{}{path}", self.daemon);
        self.read(self.agent.post(&url).send_json(body))
    }

    fn read(
        &self,
        response: Result<ureq::http::Response<ureq::Body>, ureq::Error>,
    ) -> Result<Answer, Unanswered> {
        let daemon = self.daemon.clone();
        let mut response = match response {
            Ok(response) => response,
            Err(why) => return Err(Unanswered::NoDaemon { daemon, why: Box::new(why) }),
        };
        let status = response.status().as_u16();
        match response.body_mut().read_json() {
            Ok(body) => Ok(Answer { status, body }),
            Err(_) => Err(Unanswered::Stranger { daemon }),
        }
    }

    /// Says what the kiln is doing.
    #[must_use]
    pub fn status(&self, form: Form) -> Exit {
        match self.get("/api/now") {
            Ok(Answer { status: 200, body }) => match form {
                Form::Json => tell(&body),
                Form::Words => tell(&in_words(&body)),
            },
            Ok(answer) => refused(&answer),
            Err(why) => crate::cli::refused(&why),
        }
    }

    /// Says whether a stop or a restart would lose anything: a firing, one that is set for later, or
    /// a trip that nobody has seen.
    #[must_use]
    pub fn at_rest(&self) -> Exit {
        match self.get("/api/now") {
            Ok(Answer { status: 200, body }) => {
                let said = body["sentence"].as_str().unwrap_or_default();
                if AT_REST.iter().any(|phase| body["phase"] == *phase) {
                    say_outliving(&body);
                    tell(&said)
                } else {
                    crate::cli::refused(&format_args!("not at rest. {said}"))
                }
            }
            Ok(answer) => refused(&answer),
            Err(why) => crate::cli::refused(&why),
        }
    }

    /// Gives an order.
    #[must_use]
    pub fn order(&self, order: &str) -> Exit {
        self.give(&json!({ "order": order }))
    }

    /// Lengthens the present soak or stay.
    #[must_use]
    pub fn add_minutes(&self, minutes: u16) -> Exit {
        self.give(&json!({ "order": { "add-minutes": minutes } }))
    }

    /// Notes a cone.
    #[must_use]
    pub fn cone_seen(&self, cone: &str, bend_deg: u8) -> Exit {
        self.give(&json!({ "order": { "cone-seen": { "cone": cone, "bend_deg": bend_deg } } }))
    }

    fn give(&self, order: &Value) -> Exit {
        match self.post("/api/orders", order) {
            Ok(Answer { status: 200, .. }) => tell(&"Taken."),
            Ok(answer) => refused(&answer),
            Err(why) => crate::cli::refused(&why),
        }
    }

    /// Lights a firing.
    #[must_use]
    pub fn light_up(&self, schedule: &str, delay_minutes: u16, confirmed: &[String]) -> Exit {
        let asked = json!({ "schedule": schedule, "delay_minutes": delay_minutes, "confirmed": confirmed });
        let asks = self.get("/api/light-up").map_or(Value::Null, |answer| answer.body);
        match self.post("/api/light-up", &asked) {
            Ok(Answer { status: 200, body }) => {
                say_proving(&asks);
                tell(&format_args!("Firing {} is lit.", body["firing"]))
            }
            Ok(answer) => {
                say_missing(&answer.body, &asks);
                say_proving(&asks);
                refused(&answer)
            }
            Err(why) => crate::cli::refused(&why),
        }
    }
}

/// Whoever stops saggar should know of pins that would stay on without it, and how that is put right.
fn say_outliving(now: &Value) {
    let told = now["attention"].as_array().into_iter().flatten();
    for attention in told.filter(|attention| attention["name"] == PINS_OUTLIVE) {
        let part = |key: &str| attention[key].as_str().unwrap_or_default();
        remark(&format_args!("{} {}", part("seen"), part("done")));
    }
}

/// What has to be confirmed, and how.
fn say_missing(body: &Value, asks: &Value) {
    let Some(missing) = body["missing"].as_array().filter(|missing| !missing.is_empty()) else { return };
    for check in asks["checklist"].as_array().into_iter().flatten() {
        if missing.contains(&check["id"]) {
            let (id, text) = (check["id"].as_str(), check["text"].as_str());
            let (id, text) = (id.unwrap_or_default(), text.unwrap_or_default());
            remark(&format_args!("  --confirm {id:<14} {text}"));
        }
    }
}

/// That it is a proving firing, why, and how one is done; and which switches want a look.
fn say_proving(asks: &Value) {
    let lists = [&asks["proving"]["why"], &asks["proving"]["advice"], &asks["switches"]];
    for words in lists.into_iter().filter_map(Value::as_array).flatten().filter_map(Value::as_str) {
        remark(&words);
    }
}

/// The daemon's own words; what it could not understand is bad input here too.
fn refused(answer: &Answer) -> Exit {
    let body = &answer.body;
    let mut said: Vec<String> = body["why"].as_str().map(str::to_owned).into_iter().collect();
    for problem in body["problems"].as_array().into_iter().flatten() {
        let text = |key: &str| problem[key].as_str().unwrap_or_default().to_owned();
        let place = format!("{}:{}:{}", text("file"), problem["line"], problem["column"]);
        said.push(format!("{place}: {}; {}", text("message"), text("fix")));
    }
    let said = said.join("\n");
    match answer.status {
        400 | 404 | 415 | 422 => crate::cli::bad_input(&said),
        _ => crate::cli::refused(&said),
    }
}

fn in_words(now: &Value) -> String {
    let mut lines = Vec::new();
    if let Some(speed) = now["simulated"]["speed"].as_f64() {
        lines.push(format!("Simulated kiln, {speed} × real time: nothing is hot."));
    }
    lines.extend(now["sentence"].as_str().map(str::to_owned));
    if let Some(why) = now["firing"]["proving"].as_str() {
        lines.push(format!("A proving firing: stay near, and compare it with the cones. {why}"));
    }
    for attention in now["attention"].as_array().into_iter().flatten() {
        let part = |key: &str| attention[key].as_str().unwrap_or_default().to_owned();
        lines.push(format!("{} ({}): {} {}", part("name"), part("severity"), part("seen"), part("done")));
        let look_at: Vec<&str> =
            attention["look_at"].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
        lines.push(format!("  Look at: {}.", look_at.join("; ")));
    }
    lines.join("\n")
}
