/** One fault at a time: its code, its place to the column, and what the reader says about it. */

import { describe, expect, test } from 'vitest';
import { PROBLEMS } from '../../src/output/format-reference.ts';
import { readPatch } from '../../src/patch/read.ts';
import type { ProblemCode } from '../../src/patch/text/problem.ts';
import { TEST_KINDS } from './kinds.ts';
import { FILE, patchWith, problemsIn, unmark } from './marked.ts';

/** The patch with « » about the fault, the message, and what was expected or is nearest. */
type Row = [
  code: ProblemCode,
  marked: string,
  message: string,
  expected?: string | undefined,
  nearest?: string,
];

const drums = (body: string): string =>
  patchWith(`beat: { kind: sequencer, channels: [kick, hat], ${body} }`);
const groove = (lines: string): string => drums(`patterns: { groove: { ${lines} } }`);
const cable = (text: string): string => patchWith('', `- ${text}`);
const player = (file: string): string => patchWith(`x: { kind: player, file: ${file} }`);
const RECORDING = "a WAV file in the patch's folder, such as sounds/knock.wav";
const TIME = 'a time such as 100 ms (or 16 ms tau), from 0 s to 60 s';
const CABLE = 'a cable such as shape.out -> level.control';

const ROWS: Row[] = [
  [
    'syntax',
    patchWith('x: { kind: hiss, q: «&a» 1 }'),
    'a patch has no anchors or aliases: "&a"',
    'the value itself, or a text in quotation marks',
  ],
  [
    'syntax',
    patchWith('x: { kind: hiss, q: «*a» }'),
    'a patch has no anchors or aliases: "*a"',
    'the value itself, or a text in quotation marks',
  ],
  ['syntax', patchWith('x: { kind: hiss, q: «!!int» 1 }'), 'a patch has no tags: "!!int"'],
  ['syntax', patchWith('x: { kind: hiss, «<<»: { q: 1 } }'), 'a patch has no merge keys: "<<"'],
  ['syntax', patchWith('x: { kind: hiss, «q:1» }'), 'no space after the colon', undefined, 'q: 1'],
  [
    'syntax',
    patchWith('x: { kind: shaper, sustain: «0»,5 % }'),
    'a number has a point, not a comma',
    undefined,
    '0.5 %',
  ],
  [
    'syntax',
    patchWith('x: { kind: hiss }\n«\u00a0\u00a0»y: { kind: hiss }\n  z: { kind: hiss }'),
    'this space is not a plain one',
    'spaces of the space bar; text from a page or a word processor may have others',
  ],
  [
    'syntax',
    groove('hat: «- - »x - x'),
    'a "-" ahead of a space begins a list: put drum tab in quotation marks',
  ],
  [
    'syntax',
    'title: «B»rush: the sweep',
    'two keys on one line: put the second on a line of its own, or in { }; a text that has a colon goes in quotation marks',
  ],
  [
    'wrong-type',
    cable('«a.out –> b.in»'),
    '"a.out –> b.in" is not a cable',
    CABLE,
    'a.out -> b.in',
  ],
  [
    'pattern',
    groove('hat: x«—–»x-'),
    '"—–" is not a step',
    'the quotation marks " and the sign - of the keyboard',
    '"x---x-"',
  ],
  ['syntax', `title: a\n«]»`, '"]" closes nothing'],
  [
    'syntax',
    `title: a\0b`.replace('\0', '«\0»'),
    'the character U+0000 is not allowed in YAML',
    'plain text in UTF-8',
  ],
  [
    'syntax',
    `«%TAG ! tag:a,b:»\n---\n${patchWith('')}`,
    'a patch has no directives: "%TAG ! tag:a,b:"',
  ],
  ['missing', '«t»itle: a', 'the patch has no modules', 'modules: { hiss: { kind: noise } }'],
  [
    'missing',
    patchWith('«x»: { q: 1 }'),
    '"x" has no kind',
    'the kind of module, such as { kind: noise }',
  ],
  ['missing', patchWith('x: { kind: shaper, «decay»: }'), '"decay" has no value', TIME],
  [
    'missing',
    patchWith('«x»: { kind: sequencer, patterns: { a: { length: 4 } } }'),
    '"x" has no channels',
    'channels: [hat]',
  ],
  [
    'missing',
    patchWith('«x»: { kind: sequencer, channels: [hat] }'),
    '"x" has no patterns',
    'patterns: { groove: { hat: "x-x-X-x-" } }',
  ],
  [
    'missing',
    drums('patterns: { «groove»: {} }'),
    'the pattern "groove" has no line and no length',
  ],
  [
    'missing',
    groove('«hat»: { gate: 5 ms }'),
    '"hat" has no steps',
    'x for a hit, X an accent, g a ghost stroke, - a rest, f a flam, 2 to 8 that many strokes, ? a hit left to chance',
  ],
  ['missing', drums('patterns: { a: { hat: x } }, «song»: []'), 'the song is empty'],
  [
    'missing',
    drums('patterns: { a: { hat: x } }, song: [«{ repeats: 2 }»]'),
    'an entry of the song without its pattern',
  ],
  [
    'unknown-key',
    `«titel»: a\n${patchWith('')}`,
    'a patch has no "titel"',
    'one of title, about, seed, rack, modules, parts, cables',
    'title',
  ],
  [
    'unknown-key',
    `«__proto__»: a\n${patchWith('')}`,
    'a patch has no "__proto__"',
    'one of title, about, seed, rack, modules, parts, cables',
  ],
  [
    'unknown-key',
    patchWith('x: { kind: shaper, «dekay»: 5 ms }'),
    '"shaper" has no setting "dekay"',
    'one of trigger, decay, hold, sustain, loop, window',
    'decay',
  ],
  [
    'unknown-key',
    patchWith('x: { kind: hiss, «constructor»: 5 ms }'),
    '"hiss" has no setting "constructor"',
    'one of level, q, cutoff, tune, trim, load',
  ],
  [
    'unknown-key',
    groove('hat: { steps: x, «gates»: 5 ms }'),
    'there is no "gates" here',
    'one of steps, at, chance, flam, gate, swing',
    'gate',
  ],
  [
    'unknown-key',
    drums('patterns: { a: { hat: x } }, song: [{ pattern: a, «times»: 2 }]'),
    'there is no "times" here',
    'one of pattern, repeats, tempo, swing, chance, flam, clock',
  ],
  [
    'unknown-kind',
    patchWith('x: { kind: «hsis» }'),
    'there is no kind "hsis"',
    'one of hiss, player, shaper, joint, sequencer, adapter, speakers',
    'hiss',
  ],
  [
    'unknown-module',
    cable('«nois».white -> out.right'),
    'there is no module "nois"',
    'one of drums, env, noise, out',
    'noise',
  ],
  [
    'unknown-module',
    cable('«constructor».white -> out.right'),
    'there is no module "constructor"',
    'one of drums, env, noise, out',
  ],
  [
    'unknown-jack',
    cable('noise.«whit» -> out.right'),
    '"noise" has no jack "whit"',
    'one of white, pink',
    'white',
  ],
  [
    'unknown-jack',
    cable('noise.white -> env.«triger»'),
    '"env" has no jack "triger"',
    '"trigger"',
    'trigger',
  ],
  [
    'unknown-jack',
    cable('«noise» -> out.right'),
    '"noise" does not name a jack',
    'one of noise.in, noise.white, noise.pink',
  ],
  [
    'unknown-name',
    patchWith('x: { kind: shaper, trigger: «Switch» }'),
    '"trigger" cannot be "Switch"',
    'one of voltage, switch',
    'switch',
  ],
  ['unknown-name', groove('«hta»: x-x-'), 'there is no channel "hta"', undefined, 'hat'],
  [
    'unknown-name',
    drums('patterns: { groove: { hat: x } }, song: [«grove»]'),
    'there is no pattern "grove"',
    '"groove"',
    'groove',
  ],
  [
    'unknown-name',
    drums('patterns: { groove: { hat: x, from: «fill» } }'),
    'there is no pattern "fill"',
    '"groove"',
  ],
  [
    'wrong-type',
    'modules: «[a]»',
    '"modules" cannot be a list',
    'a map of modules, such as { hiss: { kind: noise } }',
  ],
  ['wrong-type', '«- a»', 'this is a list, not a patch', 'keys such as title, modules and cables'],
  [
    'wrong-type',
    patchWith('«2x»: { kind: hiss }'),
    '"2x" is not a name',
    'a letter from a to z, then such letters, digits, "-" or "_", at most 40 in all',
  ],
  [
    'wrong-type',
    patchWith('«Geräusch»: { kind: hiss }'),
    '"Geräusch" is not a name',
    'a letter from a to z, then such letters, digits, "-" or "_", at most 40 in all',
  ],
  [
    'wrong-type',
    patchWith('«x.y»: { kind: hiss }'),
    '"x.y" is not a name',
    'a letter from a to z, then such letters, digits, "-" or "_", at most 40 in all',
  ],
  [
    'wrong-type',
    patchWith('x: «hiss»'),
    '"x" cannot be "hiss"',
    'a kind and its settings, such as { kind: noise }',
  ],
  [
    'wrong-type',
    patchWith('x: { kind: shaper, decay: «[5 ms]» }'),
    '"decay" cannot be a list',
    TIME,
  ],
  ['wrong-type', patchWith('x: { kind: shaper, decay: «fast» }'), '"fast" is not a time', TIME],
  [
    'wrong-type',
    patchWith('x: { kind: shaper, decay: «0x10 ms» }'),
    '"0x10 ms" is not a time',
    TIME,
  ],
  ['wrong-type', patchWith('x: { kind: shaper, decay: «.inf s» }'), '".inf s" is not a time', TIME],
  [
    'wrong-type',
    patchWith('x: { kind: hiss, q: «nan» }'),
    '"nan" is not a plain number',
    'a plain number such as 0.7, from 0.5 to 20',
  ],
  [
    'wrong-type',
    patchWith('x: { kind: shaper, loop: «yes» }'),
    '"loop" cannot be "yes"',
    'true or false',
    'true',
  ],
  [
    'wrong-type',
    patchWith('x: { kind: joint, jacks: «2.5» }'),
    '"jacks" is not whole: "2.5"',
    'a whole number such as 3, from 2 to 8',
  ],
  [
    'wrong-type',
    cable('«noise.white > out.right»'),
    '"noise.white > out.right" is not a cable',
    CABLE,
    'noise.white -> out.right',
  ],
  [
    'wrong-type',
    cable('«noise.white -> out.left -> out.right»'),
    'one cable joins two jacks',
    CABLE,
  ],
  ['wrong-type', cable('«{ a: b }»'), 'this is not a cable', CABLE],
  [
    'wrong-type',
    drums('patterns: { a: { hat: x } }, clock: «often»'),
    '"clock" is not a rate: "often"',
    'pulses such as 2 per quarter or 1 per step, from 1 to 96',
  ],
  ['unit', patchWith('x: { kind: shaper, decay: «55» }'), '"decay" has no unit', TIME],
  ['unit', patchWith('x: { kind: shaper, decay: «0» }'), '"decay" has no unit', TIME],
  [
    'unit',
    patchWith('x: { kind: hiss, cutoff: «7 khz» }'),
    'there is no unit "khz"',
    'a frequency such as 1 kHz, from 5 Hz to 40 kHz',
    'kHz',
  ],
  [
    'unit',
    patchWith('x: { kind: shaper, decay: «5 V» }'),
    '"decay" is a time, and V is the unit of a voltage',
    TIME,
  ],
  [
    'unit',
    patchWith('x: { kind: hiss, q: «1 dB» }'),
    '"q" takes no unit: "dB"',
    'a plain number such as 0.7, from 0.5 to 20',
  ],
  [
    'unit',
    patchWith('x: { kind: shaper, hold: «5 ms tau» }'),
    '"hold" is not a stage that has a time constant',
    'a time such as 8 ms, from 0 s to 10 s',
  ],
  [
    'unit',
    drums('patterns: { a: { hat: x } }, clock: «2 per bar»'),
    'a rate is per quarter or per step, not per "bar"',
    'pulses such as 2 per quarter or 1 per step, from 1 to 96',
  ],
  [
    'range',
    patchWith('x: { kind: shaper, decay: «1e9 s» }'),
    '"decay" is out of range: "1e9 s"',
    TIME,
  ],
  [
    'range',
    patchWith('x: { kind: shaper, decay: «1e999 s» }'),
    '"decay" is out of range: "1e999 s"',
    TIME,
  ],
  [
    'range',
    patchWith('x: { kind: shaper, sustain: «101 %» }'),
    '"sustain" is out of range: "101 %"',
    'a percentage such as 50 %, from 0 % to 100 %',
  ],
  [
    'range',
    drums('patterns: { a: { hat: x, swing: «76 %» } }'),
    '"swing" is out of range: "76 %"',
    'a percentage such as 50 %, from 50 % to 75 %',
  ],
  [
    'range',
    drums('patterns: { a: { hat: x } }, clock: «97 per quarter»'),
    '"clock" is out of range: "97 per quarter"',
    'pulses such as 2 per quarter or 1 per step, from 1 to 96',
  ],
  [
    'range',
    groove('steps-per-quarter: «97», hat: x'),
    '"steps-per-quarter" is out of range: "97"',
    'a whole number such as 4, from 1 to 96',
  ],
  [
    'range',
    groove('hat: { steps: x-, at: { «3»: { gate: 2 ms } } }'),
    'there is no step "3"',
    'a step number from 1 to 2',
  ],
  // Closed form: 60 s / 300 bpm / 4 = 50 ms a step.
  [
    'range',
    groove('tempo: 300 bpm, «hat»: { steps: f, flam: 50 ms }'),
    'a flam of 50 ms does not fit into a step of 50 ms',
  ],
  [
    'range',
    `«title»: ${'a'.repeat(201)}\n${patchWith('')}`,
    'a title of 201 characters',
    'at most 200 characters',
  ],
  ['duplicate', patchWith('«env»: { kind: hiss }'), '"env" is there already, on line 3'],
  ['duplicate', patchWith('x: { kind: hiss, q: 1, «q»: 2 }'), '"q" is there already, on line 6'],
  [
    'duplicate',
    patchWith('x: { kind: sequencer, channels: [a, «a»], patterns: { p: { length: 4 } } }'),
    'the channel "a" is there already',
  ],
  [
    'duplicate',
    patchWith('x: { kind: sequencer, channels: [a, «a-accent»], patterns: { p: { length: 4 } } }'),
    'the channel "a-accent" is the accent jack of the channel "a"',
  ],
  [
    'duplicate',
    patchWith('x: { kind: sequencer, channels: [a-accent, «a»], patterns: { p: { length: 4 } } }'),
    'the channel "a" would have the jack "a-accent", which is taken',
  ],
  [
    'duplicate',
    patchWith('x: { kind: sequencer, channels: [«run»], patterns: { p: { length: 4 } } }'),
    'the channel "run" is the name of a jack that every rhythm has',
  ],
  [
    'duplicate',
    patchWith('x: { kind: sequencer, channels: [«tempo»], patterns: { p: { length: 4 } } }'),
    'the channel "tempo" is a word that patterns use',
  ],
  ['duplicate', cable('«noise.white -> out.left»'), 'this cable is there already, on line 8'],
  [
    'direction',
    cable('«env.trigger» -> out.right'),
    '"env.trigger" is an input, and a cable starts at an output',
    '"out"',
  ],
  [
    'direction',
    cable('noise.pink -> «env.out»'),
    '"env.out" is an output, and a cable ends at an input',
    '"trigger"',
  ],
  [
    'direction',
    cable('«out.right -> noise.pink»'),
    'the cable runs from an input to an output',
    'the output first',
    'noise.pink -> out.right',
  ],
  [
    'pattern',
    groove('hat: "x-x- «zz»x-"'),
    '"zz" is not a step',
    'x for a hit, X an accent, g a ghost stroke, - a rest, f a flam, 2 to 8 that many strokes, ? a hit left to chance',
  ],
  ['pattern', groove(`hat: «"${'x'.repeat(65)}"»`), 'a line of 65 steps', '1 to 64 steps'],
  [
    'pattern',
    groove('hat: «" | "»'),
    'a line without steps',
    'x for a hit, X an accent, g a ghost stroke, - a rest, f a flam, 2 to 8 that many strokes, ? a hit left to chance',
  ],
  ['pattern', groove('hat: { steps: x-, at: { «2»: { gate: 2 ms } } }'), 'step 2 is a rest'],
  [
    'pattern',
    groove('hat: { steps: 3-, at: { «1»: { flam: 2 ms } } }'),
    'step 1 has 3 strokes, so no flam',
  ],
  [
    'pattern',
    drums('patterns: { a: { from: b }, b: { from: «a», hat: x } }'),
    'the pattern "a" starts from itself',
  ],
  ['part', `parts: { a: «gone.yaml» }\n${patchWith('')}`, 'there is no file "gone.yaml"'],
  ['part', `parts: { a: «hat.yaml» }\n${patchWith('')}`, 'the part "hat.yaml" includes itself'],
  [
    'part',
    `parts: { a: «/etc/a.yaml» }\n${patchWith('')}`,
    '"/etc/a.yaml" is not a path of a part',
    'a path with "/" from the folder of this file, such as parts/hat.yaml',
  ],
  [
    'missing',
    patchWith('«x»: { kind: player }'),
    '"x" has no file',
    "file: sounds/knock.wav, a WAV file in the patch's folder",
  ],
  ['recording', player('«gone.wav»'), 'there is no file "gone.wav"', RECORDING],
  [
    'recording',
    player('«../knock.wav»'),
    '"../knock.wav" is outside the patch\'s folder',
    'a file in the folder of the patch, or in one of its folders: copy it there',
  ],
  [
    'recording',
    player('«/tmp/knock.wav»'),
    '"/tmp/knock.wav" is not a path of a recording',
    'a path with "/" from the folder of this file, such as sounds/knock.wav',
  ],
  [
    'recording',
    player('«"data:audio/wav;base64,UklGRg=="»'),
    'what is written here cannot be played: byte 4: the file ends inside its header: it is cut short',
    RECORDING,
  ],
  ['wrong-type', player('«[a.wav, b.wav]»'), '"file" cannot be a list', RECORDING],
  [
    'too-big',
    `«modules»: ${'['.repeat(33)}`.replace('«modules»: ', 'modules: ').replace(/\[$/, '«[»'),
    'more than 32 levels inside one another',
  ],
  [
    'too-big',
    patchWith(
      `x: { kind: sequencer, «channels»: [${Array.from({ length: 65 }, (_, i) => `c${i}`).join(', ')}], patterns: { p: { length: 4 } } }`,
    ),
    '65 channels',
    'at most 64',
  ],
];

describe('a patch with one fault gives exactly that problem, at its place', () => {
  test.each(ROWS.map((row) => [row[0], row[2], row] as const))(
    '%s: %s',
    (_code, _message, [code, marked, message, expected, nearest]) => {
      const { text, line, column, length } = unmark(marked);
      expect(problemsIn(text)).toEqual([
        {
          code,
          place: { file: FILE, line, column, length },
          message,
          ...(expected !== undefined && { expected }),
          ...(nearest !== undefined && { nearest }),
        },
      ]);
    },
  );

  test('the rows show every code that the reference explains', () => {
    expect([...new Set(ROWS.map(([code]) => code))].toSorted()).toEqual(
      Object.keys(PROBLEMS).toSorted(),
    );
  });

  test('without the faults the patch is read', () => {
    const read = readPatch(patchWith(''), { file: FILE, kinds: TEST_KINDS });
    expect(read.problems).toEqual([]);
    expect(read.patch?.modules).toHaveLength(4);
    expect(read.patch?.cables).toHaveLength(2);
  });
});

describe('one fault does not raise others', () => {
  const faultsIn = (text: string): string[] =>
    problemsIn(text).map(({ code, place }) => `${code} ${place.line}:${place.column}`);

  test('cables of a rhythm whose channels cannot be read are left in peace', () => {
    const cables = ['- beat.kick -> env.trigger', '- beat.snare -> env.trigger'].join('\n');
    const beat = 'beat: { kind: sequencer, channels: [kick, 3], patterns: { a: { snare: x } } }';
    expect(faultsIn(patchWith(beat, cables))).toEqual(['wrong-type 6:45']);
  });

  test('cables of a rhythm whose channels are misspelt are left in peace', () => {
    const beat = 'beat: { kind: sequencer, chanels: [kick], patterns: { a: { kick: x } } }';
    expect(faultsIn(patchWith(beat, '- beat.kick -> env.trigger'))).toEqual([
      'missing 6:3',
      'unknown-key 6:28',
    ]);
  });

  test('cables of a module of unknown kind are left in peace', () => {
    expect(faultsIn(patchWith('x: { kind: flute }', '- x.air -> x.lips'))).toEqual([
      'unknown-kind 6:14',
    ]);
  });

  test('cables of a joint with a wrong number of jacks are left in peace', () => {
    expect(faultsIn(patchWith('x: { kind: joint, jacks: 99 }', '- x.j5 -> env.trigger'))).toEqual([
      'range 6:28',
    ]);
  });

  test('a fault that cannot change the jacks hides no wrong cable', () => {
    const cables = '- x.aut -> env.trigger';
    expect(faultsIn(patchWith('x: { kind: shaper, decay: 5, trigger: off }', cables))).toEqual([
      'unit 6:29',
      'unknown-name 6:41',
      'unknown-jack 10:7',
    ]);
  });

  test('cables of a part that is not there are left in peace', () => {
    const text = `parts: { a: gone.yaml }\n${patchWith('', '- a.x.out -> out.right')}`;
    expect(faultsIn(text)).toEqual(['part 1:13']);
  });

  test('a broken song entry or pattern hides no other fault', () => {
    const beat = `beat: { kind: sequencer, channels: [a], patterns: { p: { a: "y" }, q: { a: "z" } },
      song: [p, q, r] }`;
    expect(faultsIn(patchWith(beat))).toEqual([
      'pattern 6:64',
      'pattern 6:79',
      'unknown-name 7:22',
    ]);
  });
});
