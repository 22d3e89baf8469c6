/**
 * Quantizer: the nearest note of a set of your own, and a pulse whenever the note changes.
 *
 *   out     = the note that is nearest to in; halfway between two it keeps the one it has, otherwise takes the lower
 *   notes   = those of `notes`, and the same up and down by each `span`
 *   changed = level from each change of out on, for `length`, otherwise 0 V
 *
 * It keeps its note until another is nearer by more than `hysteresis`, so that an input that wavers
 * halfway between two does not make the note waver. With a plug in `trigger` it looks at the input only when
 * a trigger comes, and keeps its note until then. It begins at the note nearest to 0 V.
 *
 * Source: twelve-tone equal temperament at one volt an octave: a semitone is 1/12 V; the rest is common
 * practice, no source.
 * Deviation: its volts are exact and change within one sample; a converter of 12 bits over 10 V would be
 * up to 1.2 mV (1.5 cents) off, and late.
 */

import { define } from './definition.ts';
import { pitchVolts, RAIL_VOLTS, voltageTrigger, volts } from './facts.ts';
import { gateLevel, pulseSamples } from './gate-output.ts';
import { jackIn, jackOut } from './jacks.ts';

const MOST_NOTES = 64;
/** V: notes nearer to each other than this count as one. */
const SAME = 1e-9;

const settings = {
  notes: {
    type: 'row',
    unit: 'pitch',
    item: 'note',
    min: -10,
    max: 10,
    shortest: 1,
    longest: MOST_NOTES,
    fallback: Array.from({ length: 12 }, (_, semitone) => semitone / 12),
    about: 'Notes or volts of the scale, in any order. With a span of 12 st any octave will do.',
  },
  span: {
    type: 'interval',
    min: 0,
    max: 60,
    fallback: 12,
    about: 'Interval at which the notes come again, up and down; 0 st: there are no others.',
  },
  hysteresis: {
    type: 'interval',
    min: 0,
    max: 12,
    fallback: 0.2,
    about: 'By how much another note must be nearer than the one that is kept.',
  },
  length: {
    type: 'time',
    min: 0.0001,
    max: 1,
    fallback: 0.005,
    about: 'Length of the pulse at changed. A change within it lengthens it.',
  },
  level: gateLevel,
} as const;

export const quantizer = define({
  kind: 'quantizer',
  alsoCalled: ['quantiser', 'scale'],
  about:
    'Moves a control voltage to the nearest note of a scale of one’s own, and gives a trigger whenever ' +
    'the note changes. With a plug in trigger it looks only when that says so.',
  settings,
  needs: () => [{ inputs: ['in'], otherwise: 'keeps one note' }],
  recounts: true,
  jacks: ({ level }) => [
    jackIn('in', 'control', 'One volt an octave, 0 V being C2.'),
    jackIn(
      'trigger',
      'gate',
      'With a plug here the input is looked at only when this rises.',
      voltageTrigger(0),
    ),
    jackOut('out', 'pitch', 'The nearest note.', { ...pitchVolts(-5, 5), most: RAIL_VOLTS }),
    jackOut('changed', 'gate', 'A pulse whenever the note changes.', volts(0, level)),
  ],
  role: 'circuit',
  create: (values, site) => {
    const span = values.span / 12;
    const notes = withinSpan(values.notes, span);
    const made = site.make(
      'quantizer',
      ...['in', 'trigger'].map(site.input),
      ...['out', 'changed'].map(site.heard),
      notes.length,
      span,
      values.hysteresis / 12,
      site.patched('trigger'),
      pulseSamples(values.length, site.sampleRate),
      values.level,
      site.trigger('trigger'),
    );
    notes.forEach((note, k) => {
      site.call('quantizerNote', made, k, note);
    });
  },
  example: `title: Quantizer
about: A slow wave runs up and down five notes; each change of note is a stroke.
modules:
  sway:  { kind: oscillator, at-zero: 0.4 Hz }
  less:  { kind: attenuator, level: 20 %, offset: 1 V }
  scale: { kind: quantizer, notes: [C2, Eb2, F2, G2, Bb2] }
  tone:  { kind: oscillator }
  shape: { kind: envelope, mode: trigger, sustain: 0 %, decay: 90 ms }
  level: { kind: amplifier }
  out:   { kind: output }
cables:
  - sway.triangle -> less.in
  - less.out      -> scale.in
  - scale.out     -> tone.pitch
  - scale.changed -> shape.trigger
  - shape.out     -> level.control
  - tone.triangle -> level.in
  - level.out     -> out.left
`,
});

/**
 * Gives the notes of a scale once each, rising.
 * @param notes V.
 * @param span V after which they repeat: notes are moved into the first span, from 0 V on. 0: they are not moved.
 */
export function withinSpan(notes: readonly number[], span: number): readonly number[] {
  const moved = notes.map((note) => {
    if (!(span > 0)) return note;
    const within = note - span * Math.floor(note / span);
    // A note that rounding puts just below the next span is the first note of that span.
    return span - within < SAME ? 0 : within;
  });
  const rising = moved.toSorted((a, b) => a - b);
  return rising.filter((note, k) => k === 0 || note - (rising[k - 1] as number) >= SAME);
}
