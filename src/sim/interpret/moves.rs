//! Straight moves, arcs and cycles.

use super::*;

/// Ends of an arc as near as this may be one place to a controller, mm.
const NEARLY_CLOSED: f64 = 0.005;

impl<W: FnMut(&Move)> Run<'_, W> {
    pub(super) fn motion(&mut self, motion: Motion, block: &Block) -> Result<(), Refused> {
        if block.modes.once == Some(Once::MachineMove) {
            return self.machine_move(motion, block);
        }
        if motion == Motion::Nothing {
            return Ok(());
        }
        self.begin_motion(motion);
        match motion {
            Motion::Rapid => {
                let stated = self.see_height(block);
                self.go(MoveKind::Rapid, self.target(block), None, 0.0);
                self.guard.height = stated;
            }
            Motion::Feed => {
                let to = self.target(block);
                let feed = self.feed(block, distance(self.said, to))?;
                let stated = self.see_height(block);
                self.go(MoveKind::Feed, to, None, feed);
                self.guard.height = stated;
            }
            Motion::ArcCw | Motion::ArcCcw => self.arc(motion, block)?,
            Motion::Cycle(_) => self.cycle(motion, block)?,
            Motion::Nothing => {}
        }
        Ok(())
    }

    /// G53: the axis words are places on the machine.
    pub(super) fn machine_move(&mut self, motion: Motion, block: &Block) -> Result<(), Refused> {
        if !matches!(motion, Motion::Rapid | Motion::Feed) {
            return refuse(Rule::MachineMove, "G53 without G0 or G1");
        }
        if self.modal.distance() == Distance::Incremental {
            return refuse(Rule::MachineMove, "G53 in G91");
        }
        let zero = self.zeros.now();
        let words = self.axis_words(block);
        let to = std::array::from_fn(|axis| match words[axis] {
            Some(value) => value + self.zeros.machine[axis] - zero[axis],
            None => self.said[axis],
        });
        if let Some(z) = words[2] {
            self.doubt_machine_height(z);
        }
        self.begin_motion(motion);
        let (kind, feed) = match motion {
            Motion::Feed => (MoveKind::Feed, self.feed(block, distance(self.said, to))?),
            _ => (MoveKind::Rapid, 0.0),
        };
        let stated = self.see_height(block);
        self.go(kind, to, None, feed);
        self.guard.height = stated;
        Ok(())
    }

    /// What is said once, at the first motion.
    #[inline]
    pub(super) fn begin_motion(&mut self, motion: Motion) {
        if self.moved == Moved::NotYet {
            self.moved = Moved::Yes;
            self.doubt_at_first_motion();
        }
        if motion != Motion::Rapid
            && let Some(doubt) = self.modal.feed_in_doubt.take()
        {
            self.report.doubt(doubt, self.line, || {
                match doubt {
                    Doubt::FeedBeforeUnits => {
                        "a cut with an F that stands before the unit, or on its line: controllers differ in the unit it is read in"
                    }
                    _ => "a cut after G94 with no F since G93: controllers differ in the feed",
                }
                .to_string()
            });
        }
    }

    #[cold]
    pub(super) fn doubt_at_first_motion(&mut self) {
        if self.modal.units.is_none() {
            self.report.doubt(Doubt::UnitsUnstated, self.line, || {
                "neither G20 nor G21 was said; millimetres are taken".to_string()
            });
        }
        if self.modal.distance.is_none() {
            self.report.doubt(Doubt::DistanceUnstated, self.line, || {
                "neither G90 nor G91 was said; G90 is taken, but a controller may have been left in G91".to_string()
            });
        }
        if self.guard.work.is_none() {
            self.report.doubt(Doubt::WorkUnknown, self.line, || {
                "the size of the work is not known (--work): a thickness of 0 is taken, and the whole bed for its size".into()
            });
        }
    }

    /// Before a motion: complains of going sideways, or down by some way, at an unknown height. Gives
    /// what is known of the height after it.
    #[inline]
    pub(super) fn see_height(&mut self, block: &Block) -> Height {
        if self.guard.height == Height::Known {
            return Height::Known;
        }
        let absolute = self.modal.distance() == Distance::Absolute
            || block.modes.once == Some(Once::MachineMove);
        let down = !absolute && block.word(b'Z').is_some_and(|z| z < 0.0);
        if block.letters(letters(b"XY")) != 0 || down {
            self.report.danger(Danger::HeightUnknown, self.line, || {
                "a move before the program has said at which height the tool is".to_string()
            });
        }
        let stated = absolute && block.word(b'Z').is_some();
        if stated { Height::Known } else { Height::Unknown }
    }

    /// The feed of a move along `length`, mm/min.
    #[inline]
    pub(super) fn feed(&self, block: &Block, length: f64) -> Result<f64, Refused> {
        let feed = match self.modal.feed_mode {
            FeedMode::PerMinute => self.modal.feed,
            FeedMode::InverseTime => match block.word(b'F') {
                None => return refuse(Rule::FeedMissing, "G93 needs F on every line that cuts"),
                Some(feed) if feed < 1e-6 => 0.0,
                // A move to where the tool already is takes no feed.
                Some(feed) => (feed * length).max(LEAST_FEED),
            },
        };
        if feed < LEAST_FEED {
            return refuse(Rule::FeedMissing, "a cut, and no feed (F) is set");
        }
        Ok(feed)
    }

    pub(super) fn arc(&mut self, motion: Motion, block: &Block) -> Result<(), Refused> {
        let plane = self.modal.plane;
        let [a, b, c] = plane.axes();
        let unit = self.modal.unit();
        let letter = |axis: usize| [b'X', b'Y', b'Z'][axis];
        if block.word(letter(a)).is_none() && block.word(letter(b)).is_none() {
            return refuse(
                Rule::AxisMissing,
                format!("an arc needs {} or {}", char::from(letter(a)), char::from(letter(b))),
            );
        }
        let offset = [a, b].map(|axis| block.word([b'I', b'J', b'K'][axis]));
        let form = match (block.word(b'R'), offset) {
            (Some(radius), [None, None]) => Form::Radius(radius * unit),
            (Some(_), _) => return refuse(Rule::ArcCentreDoubled, "R stands beside I, J or K"),
            (None, [None, None]) => {
                return refuse(Rule::ArcCentreMissing, "an arc without I, J, K and without R");
            }
            (None, offset) => Form::Centre(offset.map(|value| value.unwrap_or(0.0) * unit)),
        };
        let (kind, sense) = match motion {
            Motion::ArcCw => (MoveKind::ArcCw, Sense::Clockwise),
            _ => (MoveKind::ArcCcw, Sense::Anticlockwise),
        };
        let to = self.target(block);
        let tolerance = self.machine.speech.arc_tolerance;
        let mut arc = Arc::new(plane, sense, [self.said, to], form, tolerance)?;
        let apart = [a, b].map(|axis| (to[axis] - self.said[axis]).abs());
        if apart != [0.0; 2] && apart[0].max(apart[1]) <= NEARLY_CLOSED {
            self.report.doubt(Doubt::ArcNearlyClosed, self.line, || {
                "an arc ends hardly off its start: controllers round, and some run a full circle, others hardly move"
                    .into()
            });
        }
        let rise = to[c] - self.said[c];
        let length = (arc.length() * arc.length() + rise * rise).sqrt();
        let feed = self.feed(block, length)?;
        let zero = self.zeros.now();
        arc.centre = [arc.centre[0] + zero[a], arc.centre[1] + zero[b]];
        if !self.machine.speech.arcs {
            self.report.danger(Danger::ArcNotKnown, self.line, || {
                "an arc, and the machine's file says that this controller has none".to_string()
            });
        }
        let stated = self.see_height(block);
        self.go(kind, to, Some(arc), feed);
        self.guard.height = stated;
        Ok(())
    }

    pub(super) fn cycle(&mut self, motion: Motion, block: &Block) -> Result<(), Refused> {
        let Motion::Cycle(cycle) = motion else { return Ok(()) };
        let line = self.line;
        let modal = &mut self.modal;
        if modal.feed_mode == FeedMode::InverseTime {
            return refuse(Rule::CycleInInverseTime, "a drilling cycle in G93");
        }
        if modal.feed < LEAST_FEED {
            return refuse(Rule::FeedMissing, "a drilling cycle, and no feed (F) is set");
        }
        if block.letters(letters(b"XYZ")) == 0 {
            return refuse(Rule::AxisMissing, "a drilling cycle without X, Y or Z");
        }
        if modal.motion != Some(motion) {
            modal.sticky = Sticky::default();
        }
        let axes = modal.plane.axes();
        let incremental = modal.distance() == Distance::Incremental;
        if incremental && modal.retract == Some(Retract::RHeight) && block.word(b'R').is_none() {
            self.report.doubt(Doubt::StickyRetract, line, || {
                "G91 and G99 with an R from an earlier line: controllers differ in where it is"
                    .into()
            });
        }
        let left_out = |axis: &usize| block.word([b'X', b'Y', b'Z'][*axis]).is_none();
        if incremental && modal.motion == Some(motion) && axes[..2].iter().any(left_out) {
            self.report.doubt(Doubt::StickyStep, line, || {
                "G91 and a step left out: some controllers repeat the last one, others stand still"
                    .into()
            });
        }
        if modal.retract.is_none() {
            self.report.doubt(Doubt::RetractUnstated, line, || {
                "neither G98 nor G99 was said; the tool is taken to come back to R only".to_string()
            });
        }
        if !self.machine.speech.drill_cycle {
            self.report.danger(Danger::CycleNotKnown, line, || {
                "a drilling cycle, and the machine's file says that this controller has none".into()
            });
        }
        let stage = Stage {
            cycle,
            axes,
            at: self.said,
            distance: self.modal.distance(),
            // As the standard's own interpreter starts.
            retract: self.modal.retract.unwrap_or(Retract::RHeight),
            unit: self.modal.unit(),
        };
        let mut sticky = self.modal.sticky;
        let feed = self.modal.feed;
        self.see_height(block);
        let done = stage.run(block, &mut sticky, |act| match act {
            Act::Rapid(to) => self.go(MoveKind::Rapid, to, None, 0.0),
            Act::Feed(to) => self.go(MoveKind::Feed, to, None, feed),
            Act::Wait(wait) => self.wait(wait),
        });
        self.modal.sticky = sticky;
        if axes[2] == 2 && !incremental {
            self.guard.height = Height::Known;
        }
        done
    }

    pub(super) fn step(&self, kind: MoveKind, said: [f64; 3], to: [f64; 3], feed: f64) -> Move {
        Move {
            line: self.line,
            kind,
            from: self.at,
            to,
            said,
            arc: None,
            feed,
            seconds: 0.0,
            tool: self.guard.fitted,
            turning: self.guard.turning,
            rpm: self.guard.rpm,
            pen: self.guard.pen_now(self.at),
        }
    }

    /// One move to `said`, in the program's own coordinates.
    #[inline]
    pub(super) fn go(&mut self, kind: MoveKind, said: [f64; 3], arc: Option<Arc>, feed: f64) {
        let zero = self.zeros.now();
        let to = std::array::from_fn(|axis| said[axis] + zero[axis]);
        let mut step = self.step(kind, said, to, feed);
        step.arc = arc;
        let before = step.pen;
        step.pen = self.guard.pen_on(&step);
        let extent = Bounds::of(&step);
        self.guard.check(&step, &extent, &mut self.report);
        // A pen that words have just lifted may still be on the cloth; one lifted in Z cannot.
        let by_words = step.pen == Some(PenState::Up) && self.guard.words.any();
        if step.pen == Some(PenState::Down) || by_words {
            self.check_settled();
        }
        self.at = to;
        self.said = said;
        let pen_moved = before.is_some() && step.pen.is_some() && before != step.pen;
        self.clock.take(step, &extent, self.modal.path);
        if pen_moved && !self.guard.words.any() {
            self.settle_pen();
        }
    }
}

fn distance(a: [f64; 3], b: [f64; 3]) -> f64 {
    let d: [f64; 3] = std::array::from_fn(|axis| b[axis] - a[axis]);
    (d[0] * d[0] + d[1] * d[1] + d[2] * d[2]).sqrt()
}
