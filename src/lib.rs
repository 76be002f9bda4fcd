//! firstpulse: reads scope captures taken around a current-mode PWM controller, measures its
//! start-up, sets that against what its data sheet promises, and says which stage is dead or weak.
//!
//! The rooms, in the order in which a capture walks through them:
//! [`data`] (plain values for all), [`formats`], [`signal`], [`controllers`], [`startup`],
//! [`mod@bench`], [`verdict`], [`inspect`], [`job`], [`report`], and the two faces [`cli`] and [`app`].
//! `DEVELOPERS.md` has the route of one capture and the table of who may use whom.

pub mod app;
pub mod bench;
pub mod cli;
pub mod controllers;
pub mod data;
pub mod formats;
pub mod inspect;
pub mod job;
pub mod report;
pub mod signal;
pub mod startup;
pub mod verdict;
