//! The safety notice: one wording, on every program, drawing, sheet and preview.
//!
//! Sources: HSE Woodworking Sheet 22; PUWER 1998 and its guidance L114; 29 CFR 1910.213; EH40 (wood
//! dust); SI 1988/1324 as amended, BS 7176, 16 CFR 1640 (furniture fire law); 16 CFR 1501 (small parts).
//! Dates and limits change, so the notice names the subject and tells the reader to check.

/// Two lines for the screen and the head of a program.
pub const SHORT: [&str; 2] = [
    "Keep people out of the cutting area, guards and extraction on, and stay beside the machine.",
    "Run it once in the air first. Fire, dust and child safety rules are yours to check.",
];

/// The whole notice, for sheet and preview. This tool assesses none of it.
pub const WHOLE: [&str; 7] = [
    "Machine: keep people out of the cutting area, use guards and extraction, wear eye protection, stay beside the machine, and run every program once in the air before it cuts.",
    "Clamps: what is drawn here is what the machine file says. Look at the bed before you start.",
    "Dust: wood and board dust harms the lungs. Extract it and wear the mask your local limits ask for.",
    "Foam burns fast with poisonous smoke, and spray adhesives are flammable: ventilate, and keep every source of ignition away.",
    "Fire law: filling, cover and finished piece must meet what applies where the piece is used. Ask your suppliers for certificates and a qualified person for advice; this tool checks none of it.",
    "Covered buttons are small parts. Not for cots or toddler beds without expert advice.",
    "Fixing a heavy panel to a wall is work for a competent installer.",
];
