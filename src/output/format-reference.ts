/** Writes the reference of the patch file in Markdown, its tables made from the kinds' definitions. */

import type { AnyValues, Definition, Jack, RowsSpec, SettingSpec } from '../modules/definition.ts';
import { stepSequencer } from '../modules/step-sequencer.ts';
import { MAX_CABLES } from '../patch/cables.ts';
import { MAX_MODULES, MAX_PART_DEPTH } from '../patch/fragment.ts';
import { MAX_PATTERNS, STEPS_PER_QUARTER } from '../patch/score/pattern.ts';
import { MAX_CHANNELS } from '../patch/score/read-score.ts';
import { formatRow, formatRows } from '../patch/score/row.ts';
import { MAX_STEPS } from '../patch/score/tab.ts';
import { isScoreSpec, MAX_RATE } from '../patch/settings.ts';
import { MAX_NAME } from '../patch/text/nodes.ts';
import type { ProblemCode } from '../patch/text/problem.ts';
import { MAX_DEPTH, MAX_TEXT } from '../patch/text/yaml.ts';
import { formatBriefly, formatValue } from '../patch/units.ts';
import { markdownTable } from './markdown.ts';

/** Cause and cure of each problem that reading a patch can end in. */
export const PROBLEMS: {
  readonly [Code in ProblemCode]: { readonly cause: string; readonly cure: string };
} = {
  syntax: {
    cause: 'The text is not YAML, or uses anchors, aliases, tags or merge keys.',
    cure: 'Mind the space after each colon, indent with spaces, and put drum tab in quotation marks.',
  },
  missing: {
    cause: 'Something that must be there is not: a kind, a value, the channels of a rhythm.',
    cure: 'Write it where the error points.',
  },
  'unknown-key': {
    cause: 'A setting or a key that does not exist there.',
    cure: 'Take the name that the error suggests, or one from the tables below.',
  },
  'unknown-kind': {
    cause: 'No kind of module has that name.',
    cure: 'Take one of the kinds below.',
  },
  'unknown-module': {
    cause: 'A cable or `--set` names a module that the patch does not have.',
    cure: 'Use the name under `modules`; a module of a part is `PART.MODULE`.',
  },
  'unknown-jack': {
    cause: 'The module has no such jack, or the cable names only a module.',
    cure: 'Write `module.jack` with a jack from the tables below.',
  },
  'unknown-name': {
    cause: 'No channel, pattern or option has that name.',
    cure: 'Take the name that the error suggests.',
  },
  'wrong-type': {
    cause: 'A list where a text belongs, a word where a number belongs, a name that is no name.',
    cure: 'Write it in the form that the error says was expected.',
  },
  unit: {
    cause: 'The value has no unit, or one of something else.',
    cure: 'Write the unit after the number; `0` needs one too: `0 s`, `0 %`.',
  },
  range: {
    cause: 'The value is beyond what the module can be set to.',
    cure: 'Stay within the range that the error gives.',
  },
  duplicate: {
    cause: 'The same key, name or cable twice.',
    cure: 'Delete one, or give it a name of its own.',
  },
  direction: {
    cause: 'A cable starts at an input or ends at an output.',
    cure: 'Write the output first: `from.output -> to.input`.',
  },
  pattern: {
    cause: 'Drum tab with a character that is no step, or a pattern that starts from itself.',
    cure: `Use the signs of the table of drum tab, 1 to ${MAX_STEPS} in a line.`,
  },
  part: {
    cause: 'A part that is not there, includes itself, or has a rhythm or an output of its own.',
    cure: 'Check the path, which starts at the folder of the file that names it.',
  },
  recording: {
    cause:
      "A WAV file that a module plays is not there, is outside the patch's folder, is too long, or is none.",
    cure: 'Name it from the folder of the file that names it; make it PCM or float WAV of at most 3 MiB.',
  },
  'too-big': {
    cause:
      `More than ${count(MAX_MODULES)} modules, ${count(MAX_CABLES)} cables, ` +
      `${MAX_CHANNELS} channels, ${count(MAX_PATTERNS)} patterns, ${MAX_PART_DEPTH} parts inside ` +
      `one another, ${MAX_DEPTH} levels of nesting or ${count(MAX_TEXT)} characters.`,
    cure: 'Split the patch.',
  },
};

/** The Markdown of `patches/README.md`; the same kinds give the same text. */
export function formatReference(kinds: readonly Definition[]): string {
  const sections = [
    INTRODUCTION,
    DRUM_TAB,
    LONG_FORM,
    ROWS,
    MEANINGS,
    UNITS,
    PARTS,
    RECORDINGS,
    racks(kinds),
    OVERRIDES,
    LIMITS_AND_ERRORS,
    table(
      ['code', 'cause', 'cure'],
      Object.entries(PROBLEMS).map(([code, { cause, cure }]) => [`\`${code}\``, cause, cure]),
    ),
    '## The kinds of module',
    kinds.map(({ kind }) => `[${kind}](#${kind})`).join(' · '),
    'Electrical facts are what a jack has unless a rack file says what yours measured.',
    ...kinds.map(kindSection),
  ];
  return `${sections.join('\n\n')}\n`;
}

const INTRODUCTION = `<!-- Generated from the definitions of the modules by \`npm run docs\`; edit those instead. -->

# The patch file

A patch file says which modules you mean to use, how they are set and which cables join them. It is
[YAML 1.2](https://yaml.org/spec/1.2.2/), and it is data: nothing in it is ever executed.

\`\`\`yaml
title: Closed hat, first idea
about: White noise through a high-pass, shaped by one envelope.
seed: workshop            # any text; the same seed gives the same samples
rack: racks/teaching-cabinet.yaml   # optional: what you own

modules:
  drums:
    kind: rhythm
    tempo: 92 bpm
    channels: [hat]
    patterns:
      groove: { hat: "x-x-X-x- x-xxX-x-" }
    song: [groove, groove]
  hiss:  { kind: noise }
  shape: { kind: envelope, attack: 0.4 ms, decay: 55 ms, sustain: 0 %, release: 55 ms }
  level: { kind: amplifier }
  out:   { kind: output }

cables:
  - drums.hat  -> shape.trigger
  - shape.out  -> level.control
  - hiss.white -> level.in
  - level.out  -> out.left
\`\`\`

| key | what it holds |
|---|---|
| \`title\` | the patch's name; without it, that of the file |
| \`about\` | what it is for |
| \`seed\` | any text; it decides the noise and every chance, so the same seed gives the same samples |
| \`rack\` | a file of what you own, from the folder of this file |
| \`modules\` | your name for each module, with its \`kind\` and its settings |
| \`parts\` | patch fragments from other files |
| \`cables\` | a list of \`from.jack -> to.jack\` |

Names of modules, parts, channels and patterns start with a letter and go on with letters
(a to z, large or small, none with an accent), digits,
\`-\` or \`_\`, at most ${MAX_NAME} in all. An output takes one plug; to reach several inputs use a
\`multiple\`. A setting that the file leaves out has its default.

Editors that know JSON Schema complete and check while you type; for those that read it from the
file, start with \`# yaml-language-server: $schema=patch.schema.json\`.`;

const DRUM_TAB = `## Drum tab

One character is one step; spaces and \`|\` are for the eye. Put it in quotation marks.

| sign | step |
|---|---|
| \`x\` | a hit |
| \`X\` | an accented hit |
| \`g\` | a ghost stroke, softer than a hit: the accent output goes to \`ghost-level\` |
| \`-\` | a rest |
| \`f\` | a flam: a grace stroke before the main one |
| \`2\` to \`8\` | a ratchet: that many equal strokes inside the step |
| \`?\` | a hit left to chance |

A line has 1 to ${MAX_STEPS} steps. Lines may differ in length: the longest is the pattern's length unless
\`length\` says otherwise, and a shorter one repeats.`;

const LONG_FORM = `## Patterns and song

\`\`\`yaml
patterns:
  groove:
    hat: "x-x-X-x- x-xxX-x-"
    kick: "X--- ---- X--- --?-"
  fill:
    from: groove            # all of groove, but for the hat
    tempo: 96 bpm
    hat: { steps: "f-4- f-?-", chance: 70 %, flam: 22 ms, gate: 50 %, at: { 5: { flam: 12 ms } } }
  triplets: { steps-per-quarter: 3, hat: "X-x x-x" }
song:
  - groove
  - { pattern: fill, repeats: 2, tempo: 100 bpm }
\`\`\`

- \`tempo\`, \`swing\`, \`chance\`, \`flam\` and \`clock\` may stand on the rhythm, on a pattern and on an
  entry of the song; the narrowest wins. A line may have its own \`chance\`, \`flam\`, \`gate\` and
  \`swing\`, and \`at\` gives single steps, counted from 1, their own \`chance\`, \`flam\` and \`gate\`.
- A line's \`chance\` is for its \`?\`; in a line without any \`?\` it is for every hit. A \`chance\` or a
  \`flam\` at a step makes that step a chance or a flam.
- \`steps-per-quarter\` is ${STEPS_PER_QUARTER.min} to ${STEPS_PER_QUARTER.max}, ${STEPS_PER_QUARTER.fallback} if not given; 3 and 6 are triplets. \`length\` is in steps.
- \`from\` starts from another pattern, with all its settings; lines and settings given here replace
  its own.
- \`clock: 2 per quarter\` or \`clock: 1 per step\`, up to ${MAX_RATE}, sets the clock output.
- Any channel serves as a reset or a start pulse: give it a line of its own, and a cable to the reset.
  A sequencer whose \`reset\` is armed starts again with the clock after it, so put the pulse on a step
  where no clock comes: \`again: "---- ---- ---- ---x"\` beside a clock of 2 per quarter.
- \`count-in: 1\` on the rhythm has the clock run for a bar before the music; bars count from the music.
- \`notes: { kick: 36, snare: 38 }\` on the rhythm gives the numbers of their notes in a MIDI file. Rows
  of a step sequencer that a pitch follows are in it too, each on a track of its own: 0 V is C2, note 36.
- Without \`song\`, every pattern is played once, in order.
- No channel can be called \`clock\`, \`run\` or \`start\`, nor by a word that patterns use.`;

const ROWS = `## Rows of a step sequencer

\`\`\`yaml
walk:
  kind: step-sequencer
  rows: { pitch: [C2, C2, G1, Bb1, C2, Eb2], bright: [0 V, 2 V, 0.5 V, 3 V] }
  gates: "xxx-xx"
\`\`\`

- Each row is an output of its name: \`walk.pitch -> tone.pitch\`. Any number of them up to
  ${(stepSequencer.settings.rows as RowsSpec).most}, none too; no row can be called \`clock\`, \`reset\`, \`offset\`, \`gate\` or \`first\`.
- Every clock moves all rows, and the gates, one step on. Each goes round by its own length, so that
  these rows, of 6 and of 4 steps, come together again after 12. The check notes lengths that do not divide
  the longest, as where a step is missing by mistake.
- \`steps: 8\` has all rows begin again after so many clocks, wherever they are.
- A reset sends all rows to their first step. \`first\` is high where they begin together: every
  12 clocks here, with \`steps: 8\` every 8.
- 1 V at \`offset\` plays every row a step further on, −1 V a step back.
- \`--set walk.rows.pitch="[C2, G2]"\` sets one row.`;

const MEANINGS = `## What the words mean

| word | meaning |
|---|---|
| swing s % | the off-step comes at s/100 of the pair of steps: 50 straight, 66.667 triplet |
| decay, release | exponential: the stage time is 5 time constants (99.3 % of the way); \`16 ms tau\` gives the time constant itself; \`curve: linear\` is straight |
| attack | time from 0 to peak on an RC charge toward 1.5 × peak, the circuit's comparator cutting it off at peak; it starts from whatever voltage is left |
| retrigger | a new rising trigger restarts the attack from the present voltage |
| gate and trigger | \`mode: gate\` (default): attack, decay, sustain while the trigger is on, release from wherever it is when it ends, so with a short gate the release, not the decay, is what one hears. \`mode: trigger\`: attack and decay run to the end whatever the gate does |
| reset of a step sequencer or a sequential switch | \`reset: armed\` (default): the next clock lands on step 1. \`reset: now\`: step 1 at once. Either way it starts armed, so the first clock of a performance lands on step 1. A reset and a clock closer together than its \`settle\` time (0.5 ms) race |
| sustain | percent of peak |
| envelope peak | 5 V unless set |
| rhythm \`level\` | the high volts of its gates, clock, run and start: 5 V unless set |
| \`seconds\`, \`bars\` | how much of the song is rendered, the song repeating as needed; with neither, the song once and its tail |
| amplifier | \`linear\`: gain = control / unity (5 V); \`exponential\`: 0 dB at unity, falling by \`range\` dB (80 dB) for each \`unity\` volts less, in its lowest 20 dB bent down to silence at 0 V. Never more than \`max-gain\` |
| noise level | white: Gaussian, 1.25 V rms unless set, up to 24 kHz at any sample rate; pink −3.01 dB/octave within ±0.25 dB from 20 Hz to 20 kHz; red −6.02 dB/octave |
| volts per octave | 0 V = C2, 65.406 Hz (equal temperament, A4 = 440 Hz) unless a module's \`at-zero\` says otherwise |
| full scale | 10 V peak = 0 dBFS |
| event time | computed from the start, never accumulated; sample index = round(time × rate) |`;

const UNITS = `## Numbers and units

Every number is written with its unit, \`0\` too; only plain numbers such as \`q\` have none. The
space before the unit may be left out, capitals matter, and the decimal sign is a point.

| quantity | units |
|---|---|
| time | \`s\` \`ms\` \`us\` \`µs\`; for the stages of an envelope also \`16 ms tau\`, the time constant |
| frequency | \`Hz\` \`kHz\` |
| voltage | \`V\` \`mV\` |
| percentage | \`%\` |
| level | \`dB\` |
| tempo | \`bpm\`, quarter notes a minute |
| interval | \`st\` (semitones) \`cents\` |
| resistance | \`ohm\` \`kohm\` \`Mohm\`, or \`Ω\` \`kΩ\` \`MΩ\` |
| time or share of a step | \`8 ms\` or \`50 %\` |
| rate | \`2 per quarter\` \`1 per step\` |
| pitches of steps | \`[C2, Eb2, F#2, 0.5 V]\` |
| gates of steps | \`"x-x-"\` |`;

const RECORDINGS = `## Recordings

A module of the kind [recording](#recording) plays a WAV file of your own:

\`\`\`yaml
modules:
  knock: { kind: recording, file: sounds/knock.wav }
\`\`\`

The path is written as that of a part. The file lies in the folder of the patch or below it, so that this
folder is all that one hands on. It is PCM or floating point, of any rate, mono or stereo, of at most 3 MiB:
half a minute of one channel of 16 bits at 48 kHz. What is in it decides the render; \`render --watch\` and
\`listen\` follow it as they follow the patch, and a hand-out has it within. A very short one may stand in
the patch itself, as a text that begins with \`data:audio/wav;base64,\`.`;

const PARTS = `## Parts

A part is a patch fragment in a file of its own: modules, cables and parts, but no rhythm and no
output. Its modules are called \`PART.MODULE\`, in cables, in \`--set\` and in errors. The same part
may be used twice with different settings.

\`\`\`yaml
parts:
  hat: parts/closed-hat.yaml
  ride: { file: parts/closed-hat.yaml, set: { shape.decay: 240 ms } }
cables:
  - drums.hat -> hat.shape.trigger
\`\`\`

Paths use \`/\` and start at the folder of the file that names them. Parts may have parts, up to
${MAX_PART_DEPTH} inside one another.`;

const racks = (kinds: readonly Definition[]): string => `## Racks

A rack is a file of what you own. \`check\` counts the patch against it, and everything computes with
what you measured. Name it with \`rack:\`, or with \`--rack FILE\` for one run (\`--set rack=none\`: without it);
[racks/teaching-cabinet.yaml](racks/teaching-cabinet.yaml) is one, and \`rack.schema.json\` its schema.

\`\`\`yaml
cables: 24                       # how many there are; left out, they are not counted
units:
  old-shape:                     # your name for it
    kind: envelope
    count: 2
    fixed: { trigger: switch }   # settings that it has no knob for
    jacks:                       # what was measured; \`inputs\` and \`outputs\` stand for all of them
      trigger: { resistance: 8.2 kohm, rest: 5.1 V, on: 0.9 V, off: 1.9 V, shortest: 1.5 ms, safe: 12 V }
      out: { resistance: 680 ohm }
    dials:                       # what the positions of its knobs stand for
      decay: { 0: 2 ms, 5: 120 ms, 10: 10 s }
  multiple: { kind: multiple, count: 3, fixed: { jacks: 4 } }
  walker: { kind: step-sequencer, has: { rows: 2, steps: 16 } }  # a patch may ask for fewer
\`\`\`

- A switch output has a \`resistance\` and a \`saturation\`. The volts that an output gives are a setting:
  \`fixed: { level: 4.8 V }\`.
- A module is a unit that fits: the one that it names with \`unit: old-shape\`, or one whose fixed
  settings do not contradict the patch. Where the patch leaves a setting out, the fixed one holds.
- \`decay: dial 3.4\` sets a knob. Between two positions times, frequencies, resistances, tempos and
  plain numbers go on a log scale; percentages, levels, volts and intervals are linear.
- \`has\` says how many a unit has, and a module that asks for more is none of it:
  ${sizesOf(kinds)}.
- A multiple is counted by the plugs that are in it, whatever its \`jacks\`.
- A trigger converter may go one way only: \`fixed: { way: voltage-to-switch }\` turns gates to switch
  triggers, \`switch-to-voltage\` switch triggers to gates. It is a unit for what is plugged that way.`;

/** As `\`rows\` and \`steps\` of a step-sequencer; ...`. */
function sizesOf(kinds: readonly Definition[]): string {
  return kinds
    .flatMap(({ kind, sizes = {} }) => {
      const names = Object.keys(sizes).map((name) => `\`${name}\``);
      return names.length === 0 ? [] : [`${names.join(' and ')} of a ${kind}`];
    })
    .join('; ');
}

const OVERRIDES = `## Settings from the command line

\`--set\` changes a setting as if it were written in the file, and may be given more than once:

\`\`\`
forehear render hat.yaml --set shape.decay=80ms --set drums.tempo=100bpm
forehear render hat.yaml --set hat.shape.decay=80ms          # a module of the part hat
forehear render hat.yaml --set drums.patterns.groove.hat=x-x-X-x-
forehear render hat.yaml --set "drums.song=[groove, fill]" --set seed=tuesday
forehear render hat.yaml --set bright.in=hiss.pink           # another cable into that input
forehear render kit.yaml --set hat=parts/open-hat.yaml       # another file for the part hat
\`\`\`

An input set to an output loses what was plugged into it. An output that is in another input already is
refused: a jack takes one plug. In the \`set:\` of a part, as in its cables, names are those of the part.`;

const LIMITS_AND_ERRORS = `## Errors

All errors of a file are reported in one run, each with its file, line and column, the text it is
about, what was expected, and the nearest right name:

\`\`\`
hat.yaml:15:35: "decay" has no unit
    shape: { kind: envelope, decay: 55 }
                                    ^^
  expected a time such as 100 ms (or 16 ms tau), from 0 s to 60 s
\`\`\`

What an earlier version of the format called otherwise is an error that says what to write instead;
\`forehear check PATCH --fix\` shows the file written so, and \`--write\` writes it.`;

function kindSection(definition: Definition): string {
  const { kind, about, settings, limits = [] } = definition;
  const jacks = definition.jacks(exampleValues(definition));
  const parts = [`### ${kind}`, about];
  const rows = Object.entries(settings);
  if (rows.length > 0) {
    parts.push(
      table(
        ['setting', 'value', 'default', 'what it does'],
        rows.map(([name, spec]) => [`\`${name}\``, ...settingCells(spec), spec.about]),
      ),
    );
  }
  parts.push(
    table(
      ['jack', 'direction', 'signal', 'electrically', 'what it is'],
      jacks.map((jack) => [
        `\`${jack.name}\``,
        jack.direction,
        jack.direction === 'through' ? '' : jack.signal,
        electrical(jack),
        jack.about,
      ]),
    ),
  );
  if (limits.length > 0) parts.push(`Limits:\n\n${limits.map((limit) => `- ${limit}`).join('\n')}`);
  return parts.join('\n\n');
}

/** Fallbacks, with one channel and one row as examples. */
function exampleValues({ settings }: Definition): AnyValues {
  return Object.fromEntries(
    Object.entries(settings).map(([name, spec]) => {
      if (spec.type === 'channels') return [name, [{ name: 'CHANNEL' }]];
      if (spec.type === 'rows')
        return [name, [{ name: 'ROW', values: [spec.row.min, spec.row.max] }]];
      return [name, isScoreSpec(spec) ? [] : spec.fallback];
    }),
  );
}

const ROW_WORDS = { pitch: 'notes or volts', gate: '`x` and `-`', number: 'plain numbers' };

/** What the setting takes, and its value when it is left out. */
function settingCells(spec: SettingSpec): [value: string, fallback: string] {
  switch (spec.type) {
    case 'channels':
      return ['a list of names', 'must be given'];
    case 'patterns':
      return ['patterns by name', 'must be given'];
    case 'song':
      return ['a list of patterns', 'each pattern once'];
    case 'notes':
      return ['note numbers by channel', 'by name'];
    case 'choice':
      return [spec.options.map((option) => `\`${option}\``).join(' '), `\`${spec.fallback}\``];
    case 'flag':
      return ['`true` `false`', `\`${spec.fallback}\``];
    case 'span':
      return ['a time, or a share of a step', formatValue(spec.fallback, 'span')];
    case 'rate':
      return [`1 to ${MAX_RATE} per quarter or per step`, formatValue(spec.fallback, 'rate')];
    case 'recording':
      return ['a path of a WAV file', 'must be given'];
    case 'row': {
      const what = ROW_WORDS[spec.unit];
      const bounds = `${spec.shortest} to ${spec.longest}`;
      return [`${what}, ${bounds}`, `\`${formatRow(spec.fallback, spec)}\``];
    }
    case 'rows': {
      const { unit, shortest, longest } = spec.row;
      const each = `${ROW_WORDS[unit]}, ${shortest} to ${longest} each`;
      return [
        `at most ${spec.most} rows by name: ${each}`,
        `\`${formatRows(spec.fallback, spec)}\``,
      ];
    }
    default: {
      const [min, max, fallback] = [spec.min, spec.max, spec.fallback].map((value) =>
        formatBriefly(value, spec.type),
      ) as [string, string, string];
      const whole = spec.type === 'count' ? ', whole' : '';
      return [`${min} to ${max}${whole}${spec.timeConstants ? ', or `tau`' : ''}`, fallback];
    }
  }
}

/** The electrical facts of a jack in plain words. */
export function electrical(jack: Jack): string {
  if (jack.direction === 'through') return 'joined inside to the others';
  const ohms = (value: number): string => formatValue(value, 'resistance');
  const volts = (value: number): string => formatValue(value, 'voltage');
  if (jack.direction === 'out') {
    const { facts } = jack;
    if (facts.type === 'switch') {
      const across = facts.saturation === 0 ? 'ground' : volts(facts.saturation);
      return `closes to ${across} through ${ohms(facts.ohms)}; open at rest`;
    }
    const behind = facts.ohms === 0 ? 'held whatever the load' : `behind ${ohms(facts.ohms)}`;
    const { low, high, most = 0 } = facts;
    const past = most > Math.max(high, -low) ? `, at most ±${volts(most)}` : '';
    return `${volts(low)} to ${volts(high)}${past}, ${behind}`;
  }
  const { facts } = jack;
  const to = facts.rest === 0 ? 'to ground' : `up to ${volts(facts.rest)}`;
  const safe = `safe to ±${volts(facts.safe)}`;
  const load = `${ohms(facts.ohms)} ${to}`;
  if (!facts.trigger) return `${load}; ${safe}`;
  const { type, on, off, shortest } = facts.trigger;
  const [over, under] = type === 'voltage' ? ['above', 'below'] : ['below', 'above'];
  const pulse = shortest > 0 ? `; pulses of ${formatValue(shortest, 'time')} or more` : '';
  return `${load}; on ${over} ${volts(on)}, off ${under} ${volts(off)}${pulse}; ${safe}`;
}

/** A table of cells that are Markdown already; only what would end a cell is escaped. */
function table(heads: readonly string[], rows: readonly (readonly string[])[]): string {
  const inCell = (cell: string): string => cell.replaceAll('|', '\\|').replaceAll('\n', ' ');
  return markdownTable(
    heads,
    rows.map((cells) => cells.map(inCell)),
  );
}

function count(value: number): string {
  return value.toLocaleString('en');
}
