//! The pin or node that a channel is on.

/// Which pin or node a channel is on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// Supply pin of the controller.
    Vcc,
    /// 5 V reference output.
    Vref,
    /// Oscillator pin with the timing resistor and capacitor.
    RtCt,
    /// Driver output pin.
    Out,
    /// Gate of the switch, behind the gate resistor.
    Gate,
    /// Current-sense input.
    Cs,
    /// Output of the error amplifier.
    Comp,
    /// Feedback input of the error amplifier.
    Fb,
    /// Rectified mains, or whatever feeds the converter.
    Bulk,
    /// Auxiliary winding, before its diode.
    Aux,
    /// Output of the supply.
    Output,
    /// Something else, or not known.
    Other,
}

impl Role {
    /// All roles in start-up order, the order of the lanes.
    pub const ALL: [Role; 12] = [
        Role::Bulk,
        Role::Vcc,
        Role::Vref,
        Role::RtCt,
        Role::Out,
        Role::Gate,
        Role::Cs,
        Role::Comp,
        Role::Fb,
        Role::Aux,
        Role::Output,
        Role::Other,
    ];

    /// The word used on the command line and in JSON.
    pub fn id(self) -> &'static str {
        match self {
            Role::Vcc => "vcc",
            Role::Vref => "vref",
            Role::RtCt => "rtct",
            Role::Out => "out",
            Role::Gate => "gate",
            Role::Cs => "cs",
            Role::Comp => "comp",
            Role::Fb => "fb",
            Role::Bulk => "bulk",
            Role::Aux => "aux",
            Role::Output => "output",
            Role::Other => "other",
        }
    }

    /// The role of this word; upper and lower case are the same.
    pub fn from_id(id: &str) -> Option<Role> {
        Role::ALL
            .into_iter()
            .find(|role| role.id().eq_ignore_ascii_case(id))
    }

    /// The name shown: the pin name of the 384x data sheet, or the node.
    pub fn title(self) -> &'static str {
        match self {
            Role::Vcc => "VCC",
            Role::Vref => "VREF",
            Role::RtCt => "RT/CT",
            Role::Out => "OUT",
            Role::Gate => "Gate",
            Role::Cs => "CS",
            Role::Comp => "COMP",
            Role::Fb => "FB",
            Role::Bulk => "Bulk",
            Role::Aux => "Auxiliary winding",
            Role::Output => "Output",
            Role::Other => "Other",
        }
    }

    /// Pin number in the eight-pin 384x package (data sheet SLUS223G, pin functions), if it is a pin.
    pub fn pin(self) -> Option<u8> {
        match self {
            Role::Comp => Some(1),
            Role::Fb => Some(2),
            Role::Cs => Some(3),
            Role::RtCt => Some(4),
            Role::Out => Some(6),
            Role::Vcc => Some(7),
            Role::Vref => Some(8),
            _ => None,
        }
    }

    /// Title with the pin number where there is one: `VREF (8)`.
    pub fn title_with_pin(self) -> String {
        match self.pin() {
            Some(pin) => format!("{} ({pin})", self.title()),
            None => self.title().to_owned(),
        }
    }
}
