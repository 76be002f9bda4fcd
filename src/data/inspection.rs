//! All that is known of a run or a job, as one plain value. Faces and reports show it and compute
//! nothing.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::capture::{Capture, Note};
use super::facts::Facts;
use super::fits::ControllerFits;
use super::joined::Joined;
use super::limit::Limit;
use super::options::{Accuracy, ReferenceLevels};
use super::role::Role;
use super::set_to_meter::SetToMeter;
use super::setup::{Setup, ShotKind};
use super::shot_list::ShotList;
use super::stage::{Stage, StageState};
use super::value::Measured;
use super::voltage_steps::StepsFinding;

/// Share of right proposals from which one is called likely.
const LIKELY: f64 = 0.9;

/// Something that the program proposes or the user set, with the reason in words.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposed<T> {
    /// The value; `None` means "can't tell".
    pub value: Option<T>,
    /// Why, or why not, as a short sentence.
    pub reason: String,
    /// Share of proposals like this one that are right, as measured on modelled captures, 0 to 1;
    /// 1 where the user set it; `None` where there is no value or no such figure.
    pub confidence: Option<f64>,
    /// Did the user set it?
    pub by_user: bool,
}

impl<T> Proposed<T> {
    /// Proposed by the program, for this reason.
    pub fn because(value: T, reason: impl Into<String>) -> Self {
        Self {
            value: Some(value),
            reason: reason.into(),
            confidence: None,
            by_user: false,
        }
    }

    /// The same with the share of such proposals that are right, 0 to 1.
    pub fn with_confidence(mut self, confidence: f64) -> Self {
        self.confidence = Some(confidence.clamp(0.0, 1.0));
        self
    }

    /// The program can't tell.
    pub fn unknown(reason: impl Into<String>) -> Self {
        Self {
            value: None,
            reason: reason.into(),
            confidence: None,
            by_user: false,
        }
    }

    /// How sure a proposal is, as a word with its share: `likely 97 %` from 90 % on, else
    /// `possible 82 %`; `None` where the user set it, and where there is no value or no figure.
    pub fn sureness(&self) -> Option<String> {
        let share = self.confidence.filter(|_| self.value.is_some())?;
        let word = if share >= LIKELY {
            "likely"
        } else {
            "possible"
        };
        (!self.by_user).then(|| format!("{word} {:.0} %", 100.0 * share))
    }

    /// Set by the user.
    pub fn set(value: T) -> Self {
        Self {
            value: Some(value),
            reason: "set by you".to_owned(),
            confidence: Some(1.0),
            by_user: true,
        }
    }
}

/// A channel with what is known about it.
#[derive(Debug, Clone)]
pub struct InspectedChannel {
    /// Facts of the raw channel.
    pub facts: Arc<Facts>,
    /// The pin or node.
    pub role: Proposed<Role>,
    /// Where on the net, if it matters.
    pub place: Option<String>,
    /// True value = raw value × `gain` + `offset`: probe factor and correction in one.
    pub gain: f64,
    /// See `gain`.
    pub offset: f64,
    /// DC accuracy used in the budget.
    pub accuracy: Accuracy,
    /// Was the accuracy assumed because none was given?
    pub accuracy_assumed: bool,
    /// Bandwidth of scope, probe and limiter together, in hertz, where it was told.
    pub bandwidth_hz: Option<f64>,
    /// Names the instrument's channel on one range: channels of several captures with the same number
    /// share one gain error and one offset error.
    pub range: u64,
    /// The meter readings that it was tied to; `gain` and `offset` contain the correction.
    pub set_to_meter: Option<SetToMeter>,
    /// A probe factor that would make the record fit, offered and never applied by itself.
    pub factor_offer: Option<FactorOffer>,
}

/// A probe factor that would make a channel fit what it seems to be.
#[derive(Debug, Clone, PartialEq)]
pub struct FactorOffer {
    /// Factor of the probe: true value = value in the file × factor.
    pub factor: f64,
    /// The role that it would then have.
    pub role: Role,
    /// Why, as a short sentence.
    pub reason: String,
}

impl InspectedChannel {
    /// Raw value to true value.
    pub fn corrected(&self, raw: f64) -> f64 {
        raw * self.gain + self.offset
    }
}

/// A capture in its place in the run.
#[derive(Debug, Clone)]
pub struct InspectedCapture {
    /// The record.
    pub capture: Arc<Capture>,
    /// Its channels, in the record's order.
    pub channels: Vec<InspectedChannel>,
    /// What it shows.
    pub kind: Proposed<ShotKind>,
    /// How the unit was fed.
    pub setup: Proposed<Setup>,
}

impl InspectedCapture {
    /// Index of the first channel with this role; where several have it, of the one at the pin.
    pub fn channel_of(&self, role: Role) -> Option<usize> {
        let has = |c: &&InspectedChannel| c.role.value == Some(role);
        let at_pin = |c: &InspectedChannel| c.place.as_deref() == Some("pin");
        let pin = self.channels.iter().position(|c| has(&c) && at_pin(c));
        pin.or_else(|| self.channels.iter().position(|c| has(&c)))
    }
}

/// What happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum EventKind {
    /// The controller starts.
    Start,
    /// The controller stops.
    Stop,
}

impl EventKind {
    /// The word used in JSON.
    pub fn id(self) -> &'static str {
        match self {
            EventKind::Start => "start",
            EventKind::Stop => "stop",
        }
    }

    /// The way that VCC comes to it: 1 up to a start, −1 down to a stop.
    pub fn way(self) -> f64 {
        match self {
            EventKind::Start => 1.0,
            EventKind::Stop => -1.0,
        }
    }
}

/// A start or a stop.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// Index of the capture.
    pub capture: usize,
    /// Start or stop.
    pub kind: EventKind,
    /// When, in seconds on the capture's axis.
    pub at_s: f64,
    /// Half-width of the interval in which it lies, in seconds.
    pub within_s: f64,
    /// Which role told it.
    pub witness: Role,
    /// VCC at that instant and its u95, in volts, if it can be read.
    pub vcc: Option<(f64, f64)>,
    /// Why it can't, where VCC was recorded.
    pub why_no_vcc: Option<NoVcc>,
}

/// Why VCC can't be read at a start or stop.
#[derive(Debug, Clone, PartialEq)]
pub struct NoVcc {
    /// The reason, and what to do.
    pub why: String,
    /// VCC moves away from the threshold there: it rises at a stop, or falls at a start. Something else than VCC made
    /// the event.
    pub away: bool,
}

/// Where a value stands against its published limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// p_in ≥ 0.975.
    InLimits,
    /// p_in ≤ 0.025.
    Outside,
    /// Between the two.
    CannotSay,
    /// Nothing published to be judged by (or only a typical value).
    NoLimit,
}

impl Verdict {
    /// The word used in JSON.
    pub fn id(self) -> &'static str {
        match self {
            Verdict::InLimits => "in-limits",
            Verdict::Outside => "outside",
            Verdict::CannotSay => "cannot-say",
            Verdict::NoLimit => "no-limit",
        }
    }

    /// The word shown.
    pub fn title(self) -> &'static str {
        match self {
            Verdict::InLimits => "in limits",
            Verdict::Outside => "outside",
            Verdict::CannotSay => "cannot say",
            Verdict::NoLimit => "no limit",
        }
    }
}

/// A measured value set against what is published.
#[derive(Debug, Clone)]
pub struct Judged {
    /// What was measured.
    pub measured: Measured,
    /// What is published, the widest over all candidates.
    pub expected: Option<Limit>,
    /// Where it stands.
    pub verdict: Verdict,
    /// Probability that the quantity lies within the limits; `None` without value or limits.
    pub p_in: Option<f64>,
    /// Does the verdict rest on a limit from memory?
    pub provisional: bool,
    /// What would settle a "cannot say"; empty otherwise.
    pub settle: String,
}

/// A stage and what the run says of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StageFinding {
    /// Which stage.
    pub stage: Stage,
    /// Its state.
    pub state: StageState,
    /// Why, as a sentence.
    pub because: String,
    /// Names of the stages whose good state comes from another shot than this stage's own.
    pub not_seen_together: Vec<Stage>,
    /// One or two key figures, ready to show: `start 15.98 ± 0.43 V`.
    pub figures: Vec<String>,
}

/// A reason for or against a suspect, with where in the record it is seen.
#[derive(Debug, Clone, PartialEq)]
pub struct Evidence {
    /// The reason, as a sentence.
    pub text: String,
    /// Id of the quantity behind it; empty if none.
    pub quantity: &'static str,
    /// Index of the capture.
    pub capture: Option<usize>,
    /// Where in the record, in seconds.
    pub span_s: Option<(f64, f64)>,
}

/// A cause that fits.
#[derive(Debug, Clone, PartialEq)]
pub struct Suspect {
    /// Id of the cause.
    pub cause: &'static str,
    /// What it is, in plain words.
    pub title: String,
    /// Share of belief, 0 to 1; all suspects of an inspection add up to at most 1.
    pub weight: f64,
    /// What speaks for it.
    pub reasons_for: Vec<Evidence>,
    /// What speaks against it.
    pub reasons_against: Vec<Evidence>,
    /// The one check that separates it from the next.
    pub next_check: String,
}

impl Suspect {
    /// `likely`, `possible` or `unlikely`.
    pub fn rank_word(&self) -> &'static str {
        if self.weight >= 0.5 {
            "likely"
        } else if self.weight >= 0.1 {
            "possible"
        } else {
            "unlikely"
        }
    }
}

/// The three lines that are always shown.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ThreeLines {
    /// What works.
    pub works: String,
    /// What does not.
    pub fails: String,
    /// What to measure next.
    pub next: String,
}

/// Title of the caution that stands until the checks before mains are entered in a job.
pub const NOT_CLEARED_FOR_MAINS: &str = "Not cleared for mains";

/// A warning that applies.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caution {
    /// A word or two.
    pub title: String,
    /// The sentence.
    pub text: String,
    /// Does it stand large above everything (as opposed to in the list)?
    pub banner: bool,
}

/// The lowest of all candidate controllers' limits and of any zener on the board.
#[derive(Debug, Clone, PartialEq)]
pub struct DoNotExceed {
    /// Supply voltage, in volts.
    pub volts: f64,
    /// Where the voltage comes from.
    pub volts_source: String,
    /// Current limit of the bench supply, in amperes.
    pub amps: f64,
    /// Where the current comes from.
    pub amps_source: String,
}

impl DoNotExceed {
    /// The same, or that of a `zener` among the parts where it is lower.
    pub fn with_zener(mut self, parts: &BTreeMap<String, f64>) -> DoNotExceed {
        let zener = parts.get("zener");
        if let Some(zener) = zener.filter(|z| **z > 0.0 && **z < self.volts) {
            self.volts = *zener;
            self.volts_source = "zener on the board".to_owned();
        }
        self
    }
}

/// The controller that the values are set against.
#[derive(Debug, Clone, PartialEq)]
pub struct ControllerChoice {
    /// Marking as typed.
    pub marking: String,
    /// Id of the profile, or of the first candidate.
    pub id: String,
    /// Title shown.
    pub title: String,
    /// Ids of all profiles that the marking leaves open; one when it leaves none.
    pub candidates: Vec<String>,
    /// Start threshold for the band in the VCC lane, widest over the candidates.
    pub start: Option<Limit>,
    /// Stop threshold.
    pub stop: Option<Limit>,
    /// VREF.
    pub vref: Option<Limit>,
    /// Ramp peak.
    pub ramp_peak: Option<Limit>,
    /// Ramp valley.
    pub ramp_valley: Option<Limit>,
    /// Oscillator cycles for each OUT cycle, where all candidates agree.
    pub divide: Option<u32>,
}

/// All that is known of a run or a job.
#[derive(Debug, Clone)]
pub struct Inspection {
    /// Set-up of the run; "can't tell" with the reason when its captures differ.
    pub setup: Proposed<Setup>,
    /// The controller, if one was named.
    pub controller: Option<ControllerChoice>,
    /// The captures, in the order given.
    pub captures: Vec<InspectedCapture>,
    /// Starts and stops, by capture and time.
    pub events: Vec<Event>,
    /// Thresholds over all sweeps of the run, where several shots gave one.
    pub joined: Vec<Joined>,
    /// Everything measured, and everything that could not be.
    pub measured: Vec<Judged>,
    /// Which controllers fit what was measured; `None` where nothing measured bears on it.
    pub fits: Option<ControllerFits>,
    /// What the voltage steps say; `None` where there are none.
    pub steps: Option<StepsFinding>,
    /// The stages, in waking order; always all six.
    pub stages: Vec<StageFinding>,
    /// Causes that fit, best first.
    pub suspects: Vec<Suspect>,
    /// The three lines.
    pub lines: ThreeLines,
    /// What this run does not test, in words.
    pub not_tested: Vec<String>,
    /// Warnings that apply.
    pub cautions: Vec<Caution>,
    /// Limits for the bench supply; present in `injected` and `low-bulk`.
    pub do_not_exceed: Option<DoNotExceed>,
    /// Which shots fit the set-up, and which of them the run holds; `None` where no set-up is known.
    pub shot_list: Option<ShotList>,
    /// Reference levels that edges and pulses were measured at.
    pub reference_levels: ReferenceLevels,
    /// What the user should know about the inspection itself.
    pub notes: Vec<Note>,
}

impl Inspection {
    /// The values judged for one stage.
    pub fn measured_for(&self, stage: Stage) -> impl Iterator<Item = &Judged> {
        self.measured
            .iter()
            .filter(move |j| j.measured.quantity.info().stage == stage)
    }

    /// The finding of a stage.
    pub fn stage(&self, stage: Stage) -> Option<&StageFinding> {
        self.stages.iter().find(|finding| finding.stage == stage)
    }

    /// Exit code of the contract: 1 when something is outside, dead or marginal (a provisional
    /// verdict alone does not count); else 3 when something cannot be said (whose fault it is that a unit starts
    /// and falls back, or which of two shots that contradict each other is right, too), is provisional, or nothing with a limit could be measured; else 0.
    pub fn exit_code(&self) -> u8 {
        let failed = self
            .measured
            .iter()
            .any(|j| j.verdict == Verdict::Outside && !j.provisional)
            || self
                .stages
                .iter()
                .any(|s| matches!(s.state, StageState::Dead | StageState::Marginal));
        if failed {
            return 1;
        }
        let limited = self
            .measured
            .iter()
            .filter(|j| j.verdict != Verdict::NoLimit);
        let open = limited
            .clone()
            .any(|j| j.verdict == Verdict::CannotSay || j.provisional);
        // it starts and falls back, and whose fault that is can't be said
        let unclear = self.stages.iter().any(|s| {
            s.stage == Stage::OwnSupply && s.state == StageState::NotTested && !s.figures.is_empty()
        });
        let apart = self.joined.iter().any(|j| j.value.is_none());
        if open || unclear || apart || limited.count() == 0 {
            3
        } else {
            0
        }
    }
}
