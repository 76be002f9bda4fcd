//! Plain data that every room shares: units, captures, facts, measured values, the [`Inspection`].
//!
//! Nothing here reads a file, starts a thread, measures a waveform or knows a face.
//! Start reading at [`capture`], then [`inspection`].

pub mod bounded;
pub mod budget;
pub mod capture;
pub mod comparison;
pub mod distribution;
pub mod drawing;
pub mod facts;
pub mod fits;
pub mod import;
pub mod inspection;
pub mod job;
pub mod joined;
pub mod limit;
pub mod mask;
pub mod next_roles;
pub mod options;
pub mod part_check;
pub mod progress;
pub mod quantity;
pub mod role;
pub mod role_colours;
pub mod samples;
pub mod set_to_meter;
pub mod setup;
pub mod shot_list;
pub mod source;
pub mod stage;
pub mod term;
pub mod text;
pub mod ticks;
pub mod time;
pub mod timing;
pub mod typed;
pub mod units;
pub mod value;
pub mod voltage_steps;

pub use bounded::Bounded;
pub use capture::{Capture, Channel, Decision, Note, SampleKind};
pub use comparison::{
    AlignBy, Alignment, CompareOptions, Compared, Comparison, Difference, Row, Side, StageChange,
};
pub use distribution::Distribution;
pub use facts::{Facts, Fold, Histogram, KeptEdge, Pulses, Pyramid, Summary, Tone, Turning};
pub use fits::{ClassFit, ControllerFit, ControllerFits, Separation};
pub use import::{
    Answer, ImportPreview, PreviewCell, PreviewColumn, PreviewLine, Question, TakenFor,
};
pub use inspection::{
    Caution, ControllerChoice, DoNotExceed, Event, EventKind, Evidence, FactorOffer,
    InspectedCapture, InspectedChannel, Inspection, Judged, NoVcc, Proposed, StageFinding, Suspect,
    ThreeLines, Verdict,
};
pub use joined::Joined;
pub use limit::{Limit, Status};
pub use mask::Mask;
pub use next_roles::{NextRoles, roles_for_file, roles_for_next};
pub use options::{Options, ReferenceLevels};
pub use part_check::PartCheck;
pub use progress::{Cancelled, Progress, Runner, SerialRunner};
pub use quantity::{Quantity, QuantityInfo};
pub use role::Role;
pub use samples::{Samples, Store};
pub use set_to_meter::{ChannelError, Corrected, MeterPiece, SetToMeter};
pub use setup::{Setup, ShotKind};
pub use shot_list::{PlannedChannel, PlannedRole, PlannedShot, ShotList};
pub use source::{MemorySource, Source};
pub use stage::{Stage, StageState};
pub use term::{Shape, Term, Tie, TieSource};
pub use time::{Segment, TimeAxis};
pub use timing::{FromRamp, Moved, Timing};
pub use units::{Amps, Farads, Hertz, Ohms, Ratio, Seconds, Unit, Volts};
pub use value::{BudgetLine, Mark, Measured, Outcome, Value};
pub use voltage_steps::{Bracket, Direction, ProbitFit, StepPlace, StepsFinding, VoltageStep};
