//! From shots and options to an inspection, in one walk.

use std::collections::BTreeSet;
use std::sync::Arc;

use crate::bench::{self, Survey};
use crate::controllers::{Found, Library, ceilings};
use crate::data::{
    Capture, ControllerChoice, Event, InspectedCapture, Inspection, Joined, Judged, Measured, Note,
    Options, Proposed, Quantity, Setup, StepsFinding,
};
use crate::verdict::{self, View};

use super::{InspectError, Shot, fits};

/// Makes an inspection of shots: roles, events, quantities, verdicts, stages.
///
/// Reads samples only near events; everything else comes from the facts.
///
/// # Errors
/// [`InspectError::Controller`] when the marking is not known, [`InspectError::Option`] when an
/// option names a channel or capture that is not there.
pub fn examine(
    shots: &[Arc<Shot>],
    options: &Options,
    library: &Library,
) -> Result<Inspection, InspectError> {
    let found = find(options, library)?;
    let marking = options.controller.as_deref();
    let controller = found.as_ref().zip(marking).map(|(f, m)| f.choice(m));
    let surveys = survey_all(shots, options)?;
    let setup = setup_of(&surveys, options);
    let RunMeasured {
        measured,
        mut steps,
        joined,
        places,
    } = measure_run(&surveys, options, controller.as_ref());
    let mut judged: Vec<Judged> = measured
        .into_iter()
        .map(|m| {
            let fed = m
                .capture
                .map_or(setup.value, |c| surveys[c].inspected.setup.value);
            verdict::judge(m, fed, found.as_ref(), options)
        })
        .collect();
    verdict::soft::add(&mut judged);
    if let Some(taken) = &mut steps {
        let published = |key| found.as_ref().and_then(|f| f.expected(key));
        let (stopped, running) = (published("icc_startup"), published("icc_operating"));
        let by_current =
            verdict::step_currents::remarks(&taken.readings, stopped.as_ref(), running.as_ref());
        let remarks = verdict::steps::remarks(taken, &judged);
        taken.remarks.splice(0..0, remarks);
        taken.remarks.extend(by_current);
    }
    let (captures, events): (Vec<_>, Vec<_>) =
        surveys.into_iter().map(|s| (s.inspected, s.events)).unzip();
    let events: Vec<_> = events.into_iter().flatten().collect();
    let fits = fits::find(&judged, &captures, controller.as_ref(), library);
    let view = View {
        fits: fits.as_ref(),
        captures: &captures,
        events: &events,
        judged: &judged,
        controller: controller.as_ref(),
        options,
    };
    let stages = verdict::stages::find(&view);
    let suspects = verdict::suspects::find(&view, &stages);
    let lines = verdict::lines::find(&view, &stages, &suspects, &joined);
    let cautions = verdict::cautions::find(&view);
    let not_tested = verdict::cautions::not_tested(&view);
    let candidates = found.as_ref().map_or(&[][..], |f| &f.profiles);
    let ceiling = ceilings(candidates);
    let shot_list = verdict::shot_list::find(&view, candidates, &ceiling);
    let do_not_exceed = verdict::cautions::do_not_exceed(&view, ceiling);
    let mut notes = notes(&captures, found.as_ref());
    notes.extend(places);
    notes.extend(
        joined
            .iter()
            .filter(|j| !j.why_not.is_empty())
            .map(|j| Note::new(&*j.why_not)),
    );
    notes.extend(library.told().iter().map(Note::new));
    Ok(Inspection {
        setup,
        controller,
        captures,
        events,
        joined,
        measured: judged,
        fits,
        steps,
        stages,
        suspects,
        lines,
        not_tested,
        cautions,
        do_not_exceed,
        shot_list,
        reference_levels: options.reference_levels,
        notes,
    })
}

/// What the marking may stand for; all of its class where it is not trusted.
fn find<'a>(options: &Options, library: &'a Library) -> Result<Option<Found<'a>>, InspectError> {
    let Some(marking) = options.controller.as_deref() else {
        return Ok(None);
    };
    let found = if options.marking_not_trusted {
        library.find_class(marking)
    } else {
        library.find(marking)
    };
    Ok(Some(found?))
}

/// What all captures and readings of a run give.
struct RunMeasured {
    measured: Vec<Measured>,
    steps: Option<StepsFinding>,
    joined: Vec<Joined>,
    /// One net on two channels, in words.
    places: Vec<Note>,
}

fn measure_run(
    surveys: &[Survey],
    options: &Options,
    controller: Option<&ControllerChoice>,
) -> RunMeasured {
    let mut measured = Vec::new();
    for (index, survey) in surveys.iter().enumerate() {
        measured.extend(bench::measure(index, survey, controller));
    }
    let shots: Vec<&InspectedCapture> = surveys.iter().map(|s| &s.inspected).collect();
    let (steps, by_steps) = bench::steps::find(options, &shots, &measured).unzip();
    measured.extend(by_steps.into_iter().flatten());
    measured.extend(bench::readings::measured(options));
    bench::products::add(&mut measured);
    bench::burst::add(&mut measured);
    drop_answered(&mut measured);
    let joined = bench::join::sweeps(&measured, &shots);
    let events: Vec<Event> = surveys.iter().flat_map(|s| s.events.clone()).collect();
    let places = bench::places::compared(&shots, &events);
    RunMeasured {
        measured,
        steps,
        joined,
        places,
    }
}

/// A quantity that one capture of the run gives need not be missed in another.
fn drop_answered(measured: &mut Vec<Measured>) {
    let given: BTreeSet<Quantity> = measured
        .iter()
        .filter(|m| m.value().is_some())
        .map(|m| m.quantity)
        .collect();
    measured.retain(|m| m.value().is_some() || !given.contains(&m.quantity));
}

fn survey_all(shots: &[Arc<Shot>], options: &Options) -> Result<Vec<Survey>, InspectError> {
    let captures: Vec<Arc<Capture>> = shots.iter().map(|s| Arc::clone(&s.capture)).collect();
    let facts: Vec<_> = shots.iter().map(|s| s.facts.as_slice()).collect();
    let channels = bench::channels(&captures, &facts, options)?;
    let mut surveys: Vec<Survey> = captures
        .iter()
        .zip(channels)
        .enumerate()
        .map(|(index, (capture, channels))| bench::survey(index, capture, channels, options))
        .collect();
    let mut inspected: Vec<_> = surveys.iter_mut().map(|s| &mut s.inspected).collect();
    bench::kinds::share_setup(&mut inspected);
    Ok(surveys)
}

/// The set-up of the run, when its captures agree.
fn setup_of(surveys: &[Survey], options: &Options) -> Proposed<Setup> {
    if let Some(setup) = options.setup {
        return Proposed::set(setup);
    }
    let mut known: Vec<&Proposed<Setup>> = Vec::new();
    for survey in surveys {
        let setup = &survey.inspected.setup;
        if setup.value.is_some() && !known.iter().any(|k| k.value == setup.value) {
            known.push(setup);
        }
    }
    match known.as_slice() {
        [] => Proposed::unknown("no capture tells how the unit was fed; choose the set-up"),
        [one] => (*one).clone(),
        several => {
            let names = several.iter().filter_map(|s| s.value).map(|setup| {
                let of = |(i, s): (usize, &Survey)| {
                    (s.inspected.setup.value == Some(setup)).then(|| (i + 1).to_string())
                };
                let shots: Vec<String> = surveys.iter().enumerate().filter_map(of).collect();
                format!("{} in shot {}", setup.id(), shots.join(", "))
            });
            Proposed::unknown(names.collect::<Vec<_>>().join("; "))
        }
    }
}

fn notes(captures: &[crate::data::InspectedCapture], found: Option<&Found<'_>>) -> Vec<Note> {
    let mut notes = Vec::new();
    if found.is_none() {
        notes.push(Note::new(
            "No controller is named, so nothing is set against published limits.",
        ));
    }
    if let Some(note) = found.map(|f| f.note.as_str()).filter(|n| !n.is_empty()) {
        notes.push(Note::new(note));
    }
    if captures
        .iter()
        .flat_map(|c| &c.channels)
        .any(|c| c.accuracy_assumed)
    {
        notes.push(Note::new(
            "Where no accuracy was given, ±(2 % of the reading + 0.1 division) is assumed for the scope (common practice).",
        ));
    }
    notes.extend(probe_offers(captures));
    notes.extend(meter_notes(captures));
    notes
}

/// What the meter readings changed, and what speaks against them.
fn meter_notes(captures: &[crate::data::InspectedCapture]) -> Vec<Note> {
    let mut notes: Vec<Note> = Vec::new();
    for (shot, capture) in captures.iter().enumerate() {
        for (number, known) in capture.channels.iter().enumerate() {
            let Some(tied) = &known.set_to_meter else {
                continue;
            };
            notes.push(Note::new(tied.in_words(shot, number)));
            for doubt in &tied.doubts {
                if !notes.iter().any(|n| n.text == *doubt) {
                    notes.push(Note::new(doubt));
                }
            }
        }
    }
    notes
}

/// Probe factors that would make a channel fit a pin; none is applied by itself.
fn probe_offers(captures: &[crate::data::InspectedCapture]) -> Vec<Note> {
    let shots = captures.iter().enumerate();
    let channels = shots.flat_map(|(shot, c)| {
        let known = c.channels.iter().enumerate();
        known.filter_map(move |(number, k)| Some((shot, number, k.factor_offer.as_ref()?)))
    });
    channels
        .map(|(shot, number, offer)| {
            let text = format!(
                "Shot {}, channel {}: {}",
                shot + 1,
                number + 1,
                offer.reason
            );
            Note::new(text)
        })
        .collect()
}
