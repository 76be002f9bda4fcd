//! Files with one channel each that were saved of the same shot: offered by their equal times, and
//! made one capture where the user says so.

use std::sync::Arc;

use super::Shot;
use crate::data::{Capture, Channel, Decision, Note, Samples};

/// Groups of shots that may be one: a single channel each, from different files, with equal times.
/// Indices into `shots`, in order; groups of one are left out.
pub fn together(shots: &[Arc<Shot>]) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (index, shot) in shots.iter().enumerate() {
        let [channel] = shot.capture.channels.as_slice() else {
            continue;
        };
        let fits = |group: &&mut Vec<usize>| {
            let others = group.iter().filter_map(|other| shots.get(*other));
            let mut others = others.map(|other| &other.capture);
            others.all(|other| {
                let times = other.channels.first().map(|c| &c.time);
                other.file != shot.capture.file
                    && times.is_some_and(|time| time.matches(&channel.time))
            })
        };
        match groups.iter_mut().find(fits) {
            Some(group) => group.push(index),
            None => groups.push(vec![index]),
        }
    }
    groups.retain(|group| group.len() > 1);
    groups
}

/// One shot with the channels of all of them; `None` for fewer than two. Channels that have the same
/// name are called after their files. The times are those of the first.
pub fn joined(shots: &[Arc<Shot>], why: &str) -> Option<Arc<Shot>> {
    let (first, others) = shots
        .split_first()
        .filter(|(_, others)| !others.is_empty())?;
    let all = || std::iter::once(first).chain(others);
    let channels = || all().flat_map(|shot| shot.capture.channels.iter().map(move |c| (shot, c)));
    let same_name = |name: &str| channels().filter(|(_, c)| c.name == name).count() > 1;
    let time = first
        .capture
        .channels
        .first()
        .map(|c| Arc::clone(&c.time))?;
    let called = |shot: &Shot, channel: &Channel| {
        if same_name(&channel.name) {
            let file = &shot.capture.file;
            file.rsplit_once('.')
                .map_or(file.as_str(), |(stem, _)| stem)
                .to_owned()
        } else {
            channel.name.clone()
        }
    };
    let copy = |(shot, channel): (&Arc<Shot>, &Channel)| Channel {
        name: called(shot, channel),
        unit: channel.unit,
        kind: channel.kind,
        samples: Samples::clone(&channel.samples),
        time: Arc::clone(&time),
        missing: channel.missing.clone(),
        clipped: channel.clipped.clone(),
        full_scale: channel.full_scale,
    };
    let files: Vec<&str> = all().map(|shot| shot.capture.file.as_str()).collect();
    let named = |shot: &Arc<Shot>| {
        let file = shot.capture.file.clone();
        let of_file = move |note: &Note| Note {
            text: format!("{file}: {}", note.text),
            line: note.line,
        };
        shot.capture.notes.iter().map(of_file).collect::<Vec<_>>()
    };
    let mut decisions = first.capture.decisions.clone();
    decisions.push(Decision {
        what: "shot".to_owned(),
        value: "together".to_owned(),
        why: why.to_owned(),
    });
    Some(Arc::new(Shot {
        facts: all().flat_map(|shot| shot.facts.clone()).collect(),
        capture: Arc::new(Capture {
            file: files.join(" + "),
            format: first.capture.format,
            channels: channels().map(copy).collect(),
            decisions,
            notes: all().flat_map(named).collect(),
        }),
    }))
}

/// Puts each group in the place of its first shot.
pub fn put_together(shots: &mut Vec<Arc<Shot>>, groups: &[Vec<usize>], why: &str) {
    let mut gone = Vec::new();
    for group in groups {
        let members: Vec<Arc<Shot>> = group
            .iter()
            .filter_map(|i| shots.get(*i).cloned())
            .collect();
        let (Some(one), Some((place, rest))) = (joined(&members, why), group.split_first()) else {
            continue;
        };
        if let Some(shot) = shots.get_mut(*place) {
            *shot = one;
            gone.extend(rest.iter().copied());
        }
    }
    let mut index = 0;
    shots.retain(|_| {
        index += 1;
        !gone.contains(&(index - 1))
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data::{Facts, MemorySource, Progress, Source};
    use crate::inspect::{ReadOptions, load};

    fn shot(name: &str, text: &str) -> Arc<Shot> {
        let source: Arc<dyn Source> = Arc::new(MemorySource::new(name, text.as_bytes().to_vec()));
        let mut shots = load(&source, &ReadOptions::default(), &Progress::new()).expect(name);
        shots.remove(0)
    }

    fn four() -> Vec<Arc<Shot>> {
        vec![
            shot("a_CH1.csv", "t,CH1\n0,1\n1,2\n2,3\n"),
            shot("b.csv", "t,CH1,CH2\n0,1,1\n1,2,1\n2,3,1\n"),
            shot("a_CH2.csv", "t,CH1\n0.0,5\n1.0,6\n2.0,7\n"),
            shot("late.csv", "t,CH1\n3,1\n4,2\n5,3\n"),
        ]
    }

    #[test]
    fn one_channel_each_and_equal_times_are_offered() {
        assert_eq!(together(&four()), [[0, 2]]);
        assert!(together(&four()[1..]).is_empty());
    }

    #[test]
    fn put_together_they_are_one_shot_with_channels_told_apart() {
        let mut shots = four();
        put_together(&mut shots, &[vec![0, 2]], "as told");
        assert_eq!(shots.len(), 3);
        let one = &shots[0];
        let names: Vec<&str> = one
            .capture
            .channels
            .iter()
            .map(|c| c.name.as_str())
            .collect();
        assert_eq!(names, ["a_CH1", "a_CH2"]);
        assert_eq!(one.capture.channels[1].samples.at(2), Some(7.0));
        assert_eq!(one.facts.len(), 2);
        assert!((one.facts[1].max - 7.0).abs() < 1e-12);
        assert_eq!(one.capture.file, "a_CH1.csv + a_CH2.csv");
        let _: &Facts = &one.facts[0];
    }
}
