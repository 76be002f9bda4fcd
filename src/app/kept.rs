//! What was worked out for a frame and is the same in the next: pixel columns and span figures. A
//! repaint in which nothing moved reads no sample and no pyramid.

use std::cell::{Cell, RefCell};
use std::sync::Arc;

use crate::inspect::Shot;
use crate::inspect::view::{self, Column, SpanFigures};

/// What columns or figures were made of, apart from the shot: bits, so that it compares exactly.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Key {
    channel: usize,
    from: u64,
    to: u64,
    columns: usize,
    gain: u64,
    offset: u64,
}

#[derive(Debug)]
struct Entry<T> {
    // held, so that no other shot can come to lie at its address
    shot: Arc<Shot>,
    key: Key,
    value: T,
    frame: u64,
}

/// Columns and span figures of the last frame.
#[derive(Debug, Default)]
pub struct Kept {
    columns: RefCell<Vec<Entry<Arc<Vec<Column>>>>>,
    spans: RefCell<Vec<Entry<Option<SpanFigures>>>>,
    frame: Cell<u64>,
    made: Cell<u64>,
}

/// A part of a channel, with the line that makes true values of raw ones.
#[derive(Debug, Clone, Copy)]
pub struct Part<'a> {
    /// The shot.
    pub shot: &'a Arc<Shot>,
    /// 0-based channel.
    pub channel: usize,
    /// Where it begins and ends, in seconds.
    pub span_s: (f64, f64),
    /// True value = raw value × gain + offset.
    pub map: (f64, f64),
}

impl Part<'_> {
    fn key(&self, columns: usize) -> Key {
        Key {
            channel: self.channel,
            from: self.span_s.0.to_bits(),
            to: self.span_s.1.to_bits(),
            columns,
            gain: self.map.0.to_bits(),
            offset: self.map.1.to_bits(),
        }
    }
}

impl Kept {
    /// Begins a frame: forgets what the frame before did not use.
    pub fn begin_frame(&self) {
        let frame = self.frame.get();
        self.columns.borrow_mut().retain(|e| e.frame == frame);
        self.spans.borrow_mut().retain(|e| e.frame == frame);
        self.frame.set(frame + 1);
    }

    /// How often something had to be worked out, since the beginning.
    pub fn made(&self) -> u64 {
        self.made.get()
    }

    /// The columns of a part, in true values; empty where there is no such channel.
    pub fn columns(&self, part: Part<'_>, count: usize) -> Arc<Vec<Column>> {
        let make = || {
            let channel = part.shot.capture.channels.get(part.channel);
            let facts = part.shot.facts.get(part.channel);
            let Some((channel, facts)) = channel.zip(facts) else {
                return Arc::default();
            };
            let (from_s, to_s) = part.span_s;
            let raw = view::columns(channel, facts, from_s, to_s, count);
            let (gain, offset) = part.map;
            Arc::new(raw.into_iter().map(|c| c.mapped(gain, offset)).collect())
        };
        self.keep(&self.columns, part.shot, part.key(count), make)
    }

    /// The figures of a marked part, in true values.
    pub fn span(&self, part: Part<'_>) -> Option<SpanFigures> {
        let make = || {
            let channel = part.shot.capture.channels.get(part.channel)?;
            let facts = part.shot.facts.get(part.channel)?;
            let (from_s, to_s) = part.span_s;
            let figures = view::span_figures(channel, facts, from_s, to_s)?;
            Some(figures.mapped(part.map.0, part.map.1))
        };
        self.keep(&self.spans, part.shot, part.key(0), make)
    }

    fn keep<T: Clone>(
        &self,
        place: &RefCell<Vec<Entry<T>>>,
        shot: &Arc<Shot>,
        key: Key,
        make: impl FnOnce() -> T,
    ) -> T {
        let frame = self.frame.get();
        let mut entries = place.borrow_mut();
        let same = |entry: &&mut Entry<T>| entry.key == key && Arc::ptr_eq(&entry.shot, shot);
        if let Some(entry) = entries.iter_mut().find(same) {
            entry.frame = frame;
            return entry.value.clone();
        }
        self.made.set(self.made.get() + 1);
        let value = make();
        entries.push(Entry {
            shot: Arc::clone(shot),
            key,
            value: value.clone(),
            frame,
        });
        value
    }
}
