//! The catalogue of quantities: one entry each, from which help and documentation are made.

use super::role::Role;
use super::setup::{Setup, ShotKind};
use super::stage::Stage;
use super::units::Unit;

/// Everything there is to say about a quantity.
#[derive(Debug)]
pub struct QuantityInfo {
    /// Word used in JSON and on the command line.
    pub id: &'static str,
    /// Name shown.
    pub title: &'static str,
    /// Unit of its values.
    pub unit: Unit,
    /// Definition, with its source where it is not our own.
    pub definition: &'static str,
    /// Where in the record it is taken.
    pub taken: &'static str,
    /// Roles that have to be recorded, all of them; empty for a hand reading.
    pub roles: &'static [Role],
    /// Kinds of shot that show it; empty for a hand reading.
    pub kinds: &'static [ShotKind],
    /// Key of the profile value that it is judged by, if one is.
    pub limit_key: Option<&'static str>,
    /// Set-ups in which that limit's condition holds; empty means all.
    pub judged_in: &'static [Setup],
    /// The stage that it belongs to.
    pub stage: Stage,
}

macro_rules! catalogue {
    ($($variant:ident $id:literal $title:literal $unit:ident $stage:ident
        [$($role:ident)*] [$($kind:ident)*] $limit:tt
        $definition:literal, $taken:literal;)*) => {
        /// A quantity that firstpulse measures.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Quantity {
            $(#[doc = $definition] $variant,)*
        }

        impl Quantity {
            /// The whole catalogue, in the order of the stages.
            pub const ALL: &'static [Quantity] = &[$(Quantity::$variant,)*];

            /// Its entry in the catalogue.
            pub fn info(self) -> &'static QuantityInfo {
                match self {
                    $(Quantity::$variant => &QuantityInfo {
                        id: $id,
                        title: $title,
                        unit: Unit::$unit,
                        definition: $definition,
                        taken: $taken,
                        roles: &[$(Role::$role),*],
                        kinds: &[$(ShotKind::$kind),*],
                        limit_key: limit_key!($limit),
                        judged_in: judged_in!($limit),
                        stage: Stage::$stage,
                    },)*
                }
            }
        }
    };
}

macro_rules! limit_key {
    (-) => {
        None
    };
    ($key:literal) => {
        Some($key)
    };
    (($key:literal in $($setup:ident)*)) => {
        Some($key)
    };
}

macro_rules! judged_in {
    (($key:literal in $($setup:ident)*)) => { &[$(Setup::$setup),*] };
    ($other:tt) => { &[] };
}

catalogue! {
    StartThreshold "start_threshold" "start threshold" Volt Supply [Vcc] [Sweep Start] "vcc_start"
        "VCC at which the controller starts, as its comparator saw it: a line fitted to VCC before the start, plus the part of the ripple that stands out of the instrument's own noise.",
        "each start; the line runs over the samples before it";
    StopThreshold "stop_threshold" "stop threshold" Volt Supply [Vcc] [Sweep Start] "vcc_stop"
        "VCC at which the controller stops, as its comparator saw it: a line fitted to VCC before the stop, minus the part of the ripple that stands out of the instrument's own noise.",
        "each stop; the line runs over the samples before it";
    Hysteresis "hysteresis" "hysteresis" Volt Supply [Vcc] [Sweep Start] "vcc_hysteresis"
        "Start threshold minus stop threshold; an offset error of the channel cancels, a gain error does not.",
        "all starts and stops of a capture";
    StartThresholdMean "start_threshold_mean" "start threshold, mean VCC" Volt Supply [Vcc] [Sweep Start] -
        "What a multimeter would have shown at the start: the fitted line without the ripple. Given only where ripple stands out of the noise.",
        "each start";
    StopThresholdMean "stop_threshold_mean" "stop threshold, mean VCC" Volt Supply [Vcc] [Sweep Start] -
        "What a multimeter would have shown at the stop: the fitted line without the ripple. Given only where ripple stands out of the noise.",
        "each stop";
    StartsPerSweep "starts_per_sweep" "starts in a sweep" Count Supply [Vcc] [Sweep] -
        "Number of starts for each rise of VCC from below the stop to above the start threshold; one is expected.",
        "the whole capture";
    StandbyCurrent "standby_current" "standby current" Ampere Supply [] [] "icc_startup"
        "Current into VCC below the start threshold, read on the bench supply or a meter.",
        "hand reading";
    RunCurrent "run_current" "running current" Ampere Supply [] [] -
        "Current into VCC while the controller runs; the published operating current excludes gate charge, so it is no limit for it.",
        "hand reading";
    VccReading "vcc" "VCC" Volt Supply [] [] -
        "VCC read with a meter.",
        "hand reading";
    VccMean "vcc_mean" "VCC, mean" Volt Supply [Vcc] [Running] -
        "Arithmetic mean of VCC.",
        "the whole capture";
    VccRipple "vcc_ripple" "VCC ripple" Volt Supply [Vcc] [Running] -
        "Peak-to-peak part of VCC that stands out of the instrument's own noise.",
        "the whole capture";
    VccDip "vcc_dip" "VCC dip within a pulse" Volt Supply [Vcc] [Running] -
        "Mean VCC minus the lowest level that VCC has within a cycle, from cycles laid over each other so that noise averages out.",
        "cycles spread over the capture";
    VrefVoltage "vref_voltage" "VREF" Volt Reference [Vref] [Sweep Start Running] "vref"
        "Mean of VREF while the controller runs.",
        "from a twentieth of the run after the start to the stop, in every run of the controller that lasts long enough";
    VrefOffVoltage "vref_off_voltage" "VREF while stopped" Volt Reference [Vref] [Sweep Start] -
        "Mean of VREF before the first start; above 0.5 V it is fed from elsewhere (common practice).",
        "before the first start";
    VrefRipple "vref_ripple" "VREF ripple" Volt Reference [Vref] [Sweep Start Running] -
        "Peak-to-peak part of VREF, while the controller runs, that stands out of the instrument's own noise.",
        "while the controller runs";
    VrefDroop "vref_droop" "VREF droop" Volt Reference [Vref] [Sweep Start Running] -
        "Mean of VREF over the first tenth of the settled part of a run minus the mean over its last tenth; positive when it falls. Where the start is in the record, the settled part begins a twentieth of the run after it.",
        "the longest run of the controller";
    OscillatorFrequency "oscillator_frequency" "oscillator frequency" Hertz Oscillator [RtCt] [Running] "osc_freq_parts"
        "Reciprocal of the mean period of the RT/CT ramp, from its rising crossings of mid-level (IEEE 181: reference level instants by linear interpolation).",
        "the whole capture";
    RampPeak "ramp_peak" "ramp peak" Volt Oscillator [RtCt] [Running Sweep] "osc_peak"
        "Upper turning point of the RT/CT ramp.",
        "each cycle where the samples resolve it, else from the distribution of the samples";
    RampValley "ramp_valley" "ramp valley" Volt Oscillator [RtCt] [Running Sweep] "osc_valley"
        "Lower turning point of the RT/CT ramp.",
        "each cycle where the samples resolve it, else from the distribution of the samples";
    RampAmplitude "ramp_amplitude" "ramp height" Volt Oscillator [RtCt] [Running Sweep] "osc_amplitude_pp"
        "Ramp peak minus ramp valley.",
        "as the peak and the valley";
    RampRiseDuration "ramp_rise_duration" "ramp rise" Second Oscillator [RtCt] [Running] -
        "Time from valley to peak of the RT/CT ramp.",
        "each cycle";
    RampFallDuration "ramp_fall_duration" "ramp fall" Second Oscillator [RtCt] [Running] -
        "Time from peak to valley of the RT/CT ramp.",
        "each cycle";
    RampAsymptote "ramp_asymptote" "level the ramp heads for" Volt Oscillator [RtCt] [Running] -
        "Level towards which the rise of the RT/CT ramp bends: A in V = A − B·exp(−t/τ), fitted to the rises laid over each other. VREF on a sound CT; lower where CT leaks.",
        "the rises of many cycles";
    RtCtProduct "rt_ct_product" "RT × CT" Second Oscillator [RtCt] [Running] -
        "Time constant of the rise: rise duration over ln((VREF − valley)/(VREF − peak)), from VREF as measured in the run, else 5 V. A gain error cancels where VREF was taken on the same channel and range.",
        "each cycle; VREF from the shot that has it";
    RampDischarge "ramp_discharge" "discharge current × RT" Volt Oscillator [RtCt] [Running] -
        "Discharge current times RT: VREF minus the level towards which the fall of the ramp heads, from the durations of rise and fall and the levels of peak and valley.",
        "each cycle";
    OscillatorJitter "oscillator_jitter" "oscillator period jitter" Second Oscillator [RtCt] [Running] -
        "Standard deviation of the single periods of the ramp, less what noise and the sample interval put into the instants.",
        "every complete cycle";
    OutFrequency "out_frequency" "OUT frequency" Hertz Drive [Out] [Running] -
        "Reciprocal of the mean OUT period, from rising crossings of the 50 % level (IEEE 181).",
        "the whole capture";
    OutDutyCycle "out_duty_cycle" "OUT duty cycle" One Drive [Out] [Running] ("duty_max" in Injected)
        "Pulse duration at the 50 % level over the period (IEEE 181 duty factor). Bench-fed, nothing regulates, so it is the maximum duty cycle.",
        "every complete cycle";
    OutPulseDuration "out_pulse_duration" "OUT pulse width" Second Drive [Out] [Running] -
        "Time from a rising to the next falling crossing of the 50 % level (IEEE 181 pulse duration).",
        "every complete pulse";
    OutJitter "out_jitter" "OUT period jitter" Second Drive [Out] [Running] -
        "Standard deviation of the single OUT periods, less what noise and the sample interval put into the instants.",
        "every complete cycle";
    MissingPulses "missing_pulses" "missing pulses" Count Drive [Out] [Running] -
        "Number of cycles without an OUT pulse between the first and the last one: gaps between rising edges that hold a whole number of periods above one.",
        "from the first to the last OUT pulse";
    OutRiseTime "out_rise_time" "OUT rise time" Second Drive [Out] [Running] -
        "Time from the 10 % to the 90 % reference level of a rise, or the levels that were told (IEEE 181 transition duration), of the waveform as recorded; corrected for the bandwidth where one was told.",
        "edges spread over the capture";
    OutFallTime "out_fall_time" "OUT fall time" Second Drive [Out] [Running] -
        "Time from the 90 % to the 10 % reference level of a fall, or the levels that were told (IEEE 181 transition duration), of the waveform as recorded; corrected for the bandwidth where one was told.",
        "edges spread over the capture";
    OutOvershoot "out_overshoot" "OUT overshoot" One Drive [Out] [Running] -
        "Highest excursion above the upper state within three rise times after the rise, as a share of the amplitude (IEEE 181 post-transition overshoot).",
        "edges spread over the capture";
    OutUndershoot "out_undershoot" "OUT undershoot" One Drive [Out] [Running] -
        "Lowest excursion below the lower state within three fall times after the fall, as a share of the amplitude (IEEE 181 post-transition undershoot).",
        "edges spread over the capture";
    OutHighLevel "out_high_level" "OUT high level" Volt Drive [Out] [Running Sweep Start] -
        "Upper state level of OUT (IEEE 181 histogram method).",
        "while the controller runs";
    OutLowLevel "out_low_level" "OUT low level" Volt Drive [Out] [Running Sweep Start] -
        "Lower state level of OUT (IEEE 181 histogram method).",
        "while the controller runs";
    OutHeadroom "out_headroom" "VCC minus OUT high level" Volt Drive [Vcc Out] [Running] -
        "Mean VCC minus the OUT high level: about 1.5 V on a bipolar part, about 0 V on a CMOS part.",
        "the whole capture";
    OscillatorToOutRatio "oscillator_to_out_ratio" "oscillator to OUT ratio" Quotient Drive [RtCt Out] [Running] "osc_to_out_divide"
        "Oscillator frequency over OUT frequency: 1 or 2.",
        "the whole capture";
    GateFrequency "gate_frequency" "gate frequency" Hertz Drive [Gate] [Running] -
        "As the OUT frequency, at the gate.",
        "the whole capture";
    GateDutyCycle "gate_duty_cycle" "gate duty cycle" One Drive [Gate] [Running] -
        "As the OUT duty cycle, at the gate.",
        "every complete cycle";
    GateHighLevel "gate_high_level" "gate high level" Volt Drive [Gate] [Running] -
        "As the OUT high level, at the gate.",
        "the whole capture";
    GateLowLevel "gate_low_level" "gate low level" Volt Drive [Gate] [Running] -
        "As the OUT low level, at the gate.",
        "the whole capture";
    GateRiseTime "gate_rise_time" "gate rise time" Second Drive [Gate] [Running] -
        "As the OUT rise time, at the gate.",
        "edges spread over the capture";
    GateFallTime "gate_fall_time" "gate fall time" Second Drive [Gate] [Running] -
        "As the OUT fall time, at the gate.",
        "edges spread over the capture";
    GateOvershoot "gate_overshoot" "gate overshoot" One Drive [Gate] [Running] -
        "As the OUT overshoot, at the gate.",
        "edges spread over the capture";
    GateDelay "gate_delay" "OUT to gate delay" Second Drive [Out Gate] [Running] -
        "Time from the 50 % crossing of an OUT rise to that of the gate rise that follows it; what the probes differ in delay is in it.",
        "every OUT pulse that the gate follows";
    CsPeak "cs_peak" "current-sense peak" Volt CurrentSense [Cs] [Running] -
        "Largest level of the current-sense pin in a pulse, behind the spike at its leading edge; mean over the pulses.",
        "pulses spread over the capture";
    CsSlope "cs_slope" "current-sense slope" VoltPerSecond CurrentSense [Cs] [Running] -
        "Slope of the current-sense pin over the later half of a pulse, by a straight line behind the spike; mean over the pulses.",
        "pulses spread over the capture";
    CsPedestal "cs_pedestal" "current-sense pedestal" Volt CurrentSense [Cs] [Running] -
        "Level at which the line through a pulse begins, at its leading edge: the current that still flowed, as volts.",
        "pulses spread over the capture";
    CompLevel "comp_level" "COMP" Volt CurrentSense [Comp] [Running] -
        "Mean of COMP.",
        "the whole capture";
    FbLevel "fb_level" "FB" Volt CurrentSense [Fb] [Running] -
        "Mean of FB.",
        "the whole capture";
    StartMargin "start_margin" "start-up margin" Volt OwnSupply [Vcc] [Start] -
        "Smallest VCC between a start and the take-over by the own winding, minus the stop threshold (measured, else the published typical one).",
        "from the last start on";
    StartAttempts "start_attempts" "start attempts" Count OwnSupply [Vcc] [Start] -
        "Number of starts in the capture.",
        "the whole capture";
    FirstStartDelay "first_start_delay" "time to the first start" Second OwnSupply [Vcc] [Start] -
        "Time from the moment at which VCC begins to climb to the first start.",
        "from the foot of the climb to the first start";
    HiccupPeriod "hiccup_period" "hiccup period" Second OwnSupply [Vcc] [Start] -
        "Mean time from start to start while VCC climbs and falls by itself.",
        "all starts of the capture";
    HiccupRatio "hiccup_ratio" "recharge to burst ratio" Quotient OwnSupply [Vcc] [Start] -
        "Mean time from stop to start over mean time from start to stop.",
        "all complete hiccups of the capture";
    PulsesPerBurst "pulses_per_burst" "pulses in a burst" Count OwnSupply [Vcc Out] [Start] -
        "Mean number of pulses of OUT from a start to the stop that follows; where they can't be counted, the rate of OUT of another shot times the mean length of a burst.",
        "all complete bursts of the capture";
    StepAtStart "step_at_start" "VCC step at the start" Volt OwnSupply [Vcc] [Start] -
        "VCC just before a start minus VCC just after it, lines through the flanks on both sides carried to the start: the current step times the series resistance of the VCC capacitor, and what charges the VREF capacitor.",
        "up to 16 complete hiccups; the last half of the climb, and the burst from a tenth of it to six tenths";
    StepAtStop "step_at_stop" "VCC step at the stop" Volt OwnSupply [Vcc] [Start] -
        "VCC just after a stop minus VCC just before it, lines through the flanks on both sides carried to the stop: the current step times the series resistance of the VCC capacitor.",
        "up to 16 complete hiccups; the last half of the burst, and the climb from a tenth of it to six tenths";
    ChargeSlope "charge_slope" "VCC slope while charging" VoltPerSecond OwnSupply [Vcc] [Start] -
        "Mean slope of VCC from a stop to the next start, or over the last quarter of the climb to the first.",
        "between stops and starts";
    BurstSlope "burst_slope" "VCC slope in a burst" VoltPerSecond OwnSupply [Vcc] [Start] -
        "Mean slope of VCC from a start to the next stop, the step at the start left out.",
        "between starts and stops";
    VccSettled "vcc_settled" "VCC once running" Volt OwnSupply [Vcc] [Start] -
        "Mean of VCC over the last fifth of the capture, when the controller runs to its end.",
        "the end of the capture";
    BulkVoltage "bulk_voltage" "bulk voltage" Volt OwnSupply [Bulk] [Start Running] -
        "Mean of the bulk voltage.",
        "the whole capture";
    BulkRipple "bulk_ripple" "bulk ripple" Volt OwnSupply [Bulk] [Start Running] -
        "Peak-to-peak part of the bulk voltage that stands out of the instrument's own noise.",
        "the whole capture";
    BulkRippleFrequency "bulk_ripple_frequency" "bulk ripple frequency" Hertz OwnSupply [Bulk] [Start Running] -
        "Frequency of the strongest sine in the bulk voltage: twice the mains frequency behind a full bridge, the mains frequency itself where only one half-wave charges.",
        "the whole capture, three cycles at least";
    OutputRipple "output_ripple" "output ripple" Volt OwnSupply [Output] [Running] -
        "Peak-to-peak part of the output voltage that stands out of the instrument's own noise.",
        "the whole capture";
    OutputPeak "output_peak" "highest output voltage" Volt OwnSupply [Output] [Start] -
        "Level that the output reaches or passes in one sample of two hundred (99.5 % quantile), less the noise there.",
        "the whole capture";
    OutputVoltage "output_voltage" "output voltage" Volt OwnSupply [Output] [Start Running] -
        "Mean of the output voltage over the last fifth of the capture, when it is steady there.",
        "the end of the capture";
}

impl Quantity {
    /// The quantity of this word.
    pub fn from_id(id: &str) -> Option<Quantity> {
        Self::ALL
            .iter()
            .copied()
            .find(|quantity| quantity.info().id == id)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_entry_is_complete_and_ids_are_unique() {
        let mut ids: Vec<_> = Quantity::ALL.iter().map(|q| q.info().id).collect();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), Quantity::ALL.len());
        for quantity in Quantity::ALL {
            let info = quantity.info();
            assert!(
                !info.title.is_empty() && info.definition.ends_with('.'),
                "{}",
                info.id
            );
            assert_eq!(info.kinds.is_empty(), info.roles.is_empty(), "{}", info.id);
            assert_eq!(Quantity::from_id(info.id), Some(*quantity));
        }
    }
}
