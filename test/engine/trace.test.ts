// What the score says happens against what the render's own samples hold: every jack is tapped while
// the whole patch plays, and its edges are searched in the samples with this test's own thresholds.

import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { netlist } from '../../src/electrical/nets.ts';
import { controlPath } from '../../src/engine/control-path.ts';
import type { Happening } from '../../src/engine/happening.ts';
import { Take } from '../../src/engine/take.ts';
import { sentEdges, trace } from '../../src/engine/trace.ts';
import type { InputFacts } from '../../src/modules/facts.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import type { JackRef, Patch } from '../../src/patch/patch.ts';
import { readPatch } from '../../src/patch/read.ts';
import { close } from '../close.ts';

const FOLDER = new URL('../../patches/', import.meta.url);

/** Followers of every sort, a switch trigger, a slow edge, a joined net, two rhythms, a count-in. */
const EVERYTHING = `
seed: any
modules:
  drums:
    kind: rhythm
    tempo: 133 bpm
    swing: 60 %
    count-in: 1
    channels: [kick, hat, again]
    clock: 2 per step
    gate: 30 %
    patterns:
      a: { kick: "X--x-", hat: "x-f-X-4-?-x-", again: "-------x" }
      b: { from: a, tempo: 91.3 bpm, steps-per-quarter: 3, hat: "x-2x-3x-x" }
    song: [a, { pattern: b, repeats: 2, swing: 66.667 % }]
  other: { kind: rhythm, tempo: 171 bpm, channels: [tick], patterns: { a: { tick: "x-x" } } }
  copies: { kind: multiple }
  div: { kind: clock-divider, divide: 3 }
  walk: { kind: step-sequencer, rows: { a: [0 V, 1 V, 2 V, 3 V, 4 V] } }
  jump: { kind: step-sequencer, rows: { a: [0 V, 1 V, 2 V] }, reset: now }
  conv: { kind: trigger-converter }
  env: { kind: envelope, trigger: switch, attack: 10 ms, decay: 30 ms, sustain: 40 %, release: 50 ms }
  lag: { kind: slew, rise: 4 ms, fall: 4 ms }
  env2: { kind: envelope, mode: trigger, attack: 0 s, decay: 40 ms }
  env3: { kind: envelope }
  vca: { kind: amplifier }
  hiss: { kind: noise }
  out: { kind: output }
cables:
  - drums.clock -> copies.in
  - copies.out-1 -> div.clock
  - copies.out-2 -> walk.clock
  - copies.out-3 -> jump.clock
  - drums.again -> jump.reset
  - drums.hat -> conv.voltage-in
  - conv.switch-out -> env.trigger
  - drums.kick -> lag.in
  - lag.out -> env2.trigger
  - div.divided -> env3.trigger
  - other.tick -> env3.cut
  - env.out -> vca.control
  - hiss.white -> vca.in
  - vca.out -> out.left
`;

function read(text: string): Patch {
  const { patch, problems } = readPatch(text, {
    file: 'test.yaml',
    kinds: KINDS,
    load: (path) => readFileSync(new URL(path, FOLDER), 'utf8'),
  });
  if (patch === undefined) throw new Error(problems.map(({ message }) => message).join('\n'));
  return patch;
}

/** Strokes of one channel to two envelopes in turn, another moving the switch on. */
const TURNS = `
modules:
  drums:
    kind: rhythm
    channels: [hit, step, back]
    gate: 20 ms
    patterns: { a: { hit: "x-xx-xxx", step: "x--x-x--", back: "------x-" } }
    song: [a, a]
  turns: { kind: sequential-switch, ways: 3, reset: now }
  one: { kind: envelope, release: 50 ms }
  two: { kind: envelope, release: 50 ms }
  both: { kind: mixer }
  hiss: { kind: noise }
  vca: { kind: amplifier }
  out: { kind: output }
cables:
  - drums.step -> turns.clock
  - drums.back -> turns.reset
  - drums.hit -> turns.in
  - turns.out-1 -> one.trigger
  - turns.out-2 -> two.trigger
  - one.out -> both.in-1
  - two.out -> both.in-2
  - both.out -> vca.control
  - hiss.white -> vca.in
  - vca.out -> out.left
`;

const PATCHES: readonly (readonly [name: string, patch: Patch])[] = [
  ['everything', read(EVERYTHING)],
  ['turns', read(TURNS)],
  ...['bass-line', 'two-bar-kit', 'closed-hat'].map(
    (name) => [name, read(readFileSync(new URL(`${name}.yaml`, FOLDER), 'utf8'))] as const,
  ),
];

/** The volts of jacks while the whole patch plays. */
function tapped(patch: Patch, jacks: readonly JackRef[], rate: number, seconds: number) {
  const take = new Take(patch, {
    sampleRate: rate,
    length: { unit: 'seconds', value: seconds },
    tail: { unit: 'seconds', value: 0 },
    probes: jacks,
  });
  const volts = jacks.map(() => new Float64Array(Math.ceil(seconds * rate) + 1));
  let frames = 0;
  for (let given = take.read(); given > 0; given = take.read()) {
    volts.forEach((all, jack) => {
      all.set((take.probes[jack] as Float64Array).subarray(0, given), frames);
    });
    frames += given;
  }
  return volts.map((all) => all.subarray(0, frames));
}

/** When an input goes on: the volts have been past its threshold for as long as it takes. */
function noticed(volts: Float64Array, facts: InputFacts, rate: number): [number, string][] {
  const { type, on, off, shortest } = facts.trigger as NonNullable<InputFacts['trigger']>;
  const past = (v: number): boolean => (type === 'voltage' ? v >= on : v <= on);
  const back = (v: number): boolean => (type === 'voltage' ? v <= off : v >= off);
  const needed = Math.max(1, Math.round(shortest * rate));
  const found: [number, string][] = [];
  let isOn = false;
  /** How many samples in a row have been past it, to this one. */
  let held = 0;
  volts.forEach((v, sample) => {
    held = past(v) ? held + 1 : 0;
    if (isOn && back(v)) {
      isOn = false;
      found.push([sample, 'off']);
    } else if (!isOn && held >= needed) {
      // Only what has come since it last went off counts.
      const since = found.at(-1)?.[0] ?? -1;
      if (sample - needed >= since) {
        isOn = true;
        found.push([sample, 'on']);
      }
    }
  });
  return found;
}

describe.each([44_100, 48_000])('at %i Hz', (rate) => {
  const seconds = 7.3;

  it.each(PATCHES)('%s: score and render agree on every edge that is sent', (_, patch) => {
    const jacks = patch.modules
      .filter(({ definition }) => definition.role === 'score')
      .flatMap(({ name, jacks: all }) => all.map((jack) => ({ module: name, jack: jack.name })));
    // An output with nothing plugged in gives its full volts: what listens takes no current.
    const volts = tapped(patch, jacks, rate, seconds);
    const happenings = [...trace(patch, { sampleRate: rate, seconds })];
    let edges = 0;
    jacks.forEach(({ module, jack }, index) => {
      const samples = volts[index] as Float64Array;
      const heard: number[] = [];
      samples.forEach((v, i) => {
        if (v !== (samples[i - 1] ?? 0)) heard.push(i);
      });
      const said = happenings
        .filter((one) => one.jack === `${module}.${jack}` && one.sample < samples.length)
        .filter(({ edge }) => edge === 'rise' || edge === 'fall' || edge === 'level')
        .map(({ sample }) => sample);
      expect({ jack, at: said }).toEqual({ jack, at: heard });
      edges += heard.length;
    });
    expect(edges).toBeGreaterThan(50);
  });

  it.each(PATCHES)('%s: and on what every trigger input notices', (_, patch) => {
    const inputs = patch.modules.flatMap(({ name, jacks }) =>
      jacks.flatMap((jack) =>
        jack.direction === 'in' && jack.facts.trigger !== undefined
          ? [{ ref: { module: name, jack: jack.name }, facts: jack.facts }]
          : [],
      ),
    );
    const volts = tapped(
      patch,
      inputs.map(({ ref }) => ref),
      rate,
      seconds,
    );
    const happenings = [...trace(patch, { sampleRate: rate, seconds })];
    let seen = 0;
    inputs.forEach(({ ref, facts }, index) => {
      const name = `${ref.module}.${ref.jack}`;
      const said = happenings
        .filter(({ jack, edge }) => jack === name && (edge === 'on' || edge === 'off'))
        .map(({ sample, edge }) => [sample, edge]);
      expect({ name, said }).toEqual({
        name,
        said: noticed(volts[index] as Float64Array, facts, rate),
      });
      seen += said.length;
    });
    expect(seen).toBeGreaterThan(20);
  });
});

describe('followers', () => {
  it('stand where their volts say', () => {
    // Row a gives as many volts as steps come before.
    const patch = read(EVERYTHING);
    const names = ['walk', 'jump'];
    const volts = tapped(
      patch,
      names.map((module) => ({ module, jack: 'a' })),
      48_000,
      7,
    );
    const happenings = [...trace(patch, { sampleRate: 48_000, seconds: 7 })];
    names.forEach((name, index) => {
      const steps = happenings.filter((one) => one.jack === `${name}.clock` && one.edge === 'step');
      expect(steps.length).toBeGreaterThan(80);
      const wrong = steps.filter(
        ({ sample, position }) => (volts[index] as Float64Array)[sample] !== (position ?? 0) - 1,
      );
      expect(wrong).toEqual([]);
    });
  });

  it('that get no clock do not move', () => {
    const patch = read(EVERYTHING.replace('clock: 2 per step', 'level: 2 V'));
    const steps = [...trace(patch, { sampleRate: 48_000, seconds: 3 })].filter(
      ({ edge }) => edge === 'step',
    );
    expect(steps).toEqual([]);
  });
});

const RING = `modules:
  tick: { kind: clock, rate: 8 Hz, duty: 50 % }
  either: { kind: logic }
  drums: { kind: rhythm, channels: [hit], follows: 4 per quarter, patterns: { a: { hit: "x-x-" } }, song: [a] }
  line: { kind: step-sequencer, gates: "xx-x" }
cables:
  - tick.out -> either.a
  - line.gate -> either.b
  - either.or -> drums.clock-in
  - drums.clock -> line.clock
`;

describe('latencies', () => {
  const happenings = [...trace(read(EVERYTHING), { sampleRate: 48_000, seconds: 7 })];
  const latencies = (jack: string): number[] =>
    happenings.flatMap((one) =>
      one.jack === jack && one.edge === 'on' ? (one.latency ?? []) : [],
    );

  it('are the time that an input takes to notice', () => {
    // 1 ms is 48 samples, of which the first is that of the edge itself; a converter answers at once.
    expect(new Set(latencies('walk.clock'))).toEqual(new Set([47 / 48_000]));
    expect(new Set(latencies('conv.voltage-in'))).toEqual(new Set([0]));
  });

  it('of a slow edge are the time to the threshold and the time to notice', () => {
    const found = latencies('env2.trigger');
    expect(found.length).toBeGreaterThan(5);
    // Half of a rise of 5 V: the slew limiter takes 4 ms for it, on whichever curve.
    expect(Math.min(...found)).toBeGreaterThan(0.0012);
    expect(Math.max(...found)).toBeLessThan(0.005);
  });

  it('are not those since an edge of the ring that a clock leads', () => {
    // Every pulse at clock-in is the clock's: the one that comes back around the ring comes while that is high.
    const ring = [...trace(read(RING), { sampleRate: 48_000, seconds: 2 })];
    const of = (jack: string) => ring.filter((one) => one.jack === jack && one.edge === 'on');
    expect(of('drums.clock-in')).toHaveLength(16);
    expect(of('drums.clock-in').flatMap(({ latency }) => latency ?? [])).toEqual([]);
    // A sequencer notices a clock that has lasted 1 ms, 48 samples, of which the first is that of the edge itself.
    const { latency } = of('line.clock')[3] as { latency?: number };
    expect(latency).toBe(47 / 48_000);
  });

  it('name the bar and step that they come from', () => {
    // Of the music: the count-in has no stroke of the hat.
    const [first] = happenings.filter((one) => one.jack === 'conv.voltage-in');
    expect([first?.bar, first?.step]).toEqual([1, 1]);
  });
});

describe('envelopes', () => {
  it('go through their phases at the times that their settings say', () => {
    const text = `
modules:
  drums: { kind: rhythm, tempo: 60 bpm, channels: [hit], gate: 200 ms, patterns: { a: { hit: "x---" } } }
  env: { kind: envelope, attack: 10 ms, decay: 30 ms, sustain: 40 %, release: 50 ms }
  out: { kind: output }
cables: [ drums.hit -> env.trigger, env.out -> out.left ]
`;
    const phases = [...trace(read(text), { sampleRate: 48_000, seconds: 1 })]
      .filter(({ jack }) => jack === 'env.out')
      .map(({ edge, time }) => [edge, time] as const);
    expect(phases.map(([edge]) => edge)).toEqual(['attack', 'decay', 'sustain', 'release', 'rest']);
    // The trigger is noticed after 1 ms; the release starts as the gate ends. It starts from 40 % of
    // the peak and takes 5 time constants in 50 ms, so that 1 % comes after 10 ms x ln 40.
    const due = [0.001, 0.011, 0.041, 0.2, 0.2 + 0.01 * Math.log(40)];
    phases.forEach(([, time], i) => {
      close(time, due[i] as number, {
        abs: 1.5 / 48_000,
        unit: 's',
        why: 'a sample of 48 kHz, and where in it an edge lies',
      });
    });
  });
});

describe('the edges that are sent', () => {
  it('are those of the trace, of several rhythms in one order', () => {
    const patch = read(EVERYTHING);
    const play = { sampleRate: 48_000, seconds: 5 };
    const isSent = ({ edge }: Happening): boolean =>
      edge === 'rise' || edge === 'fall' || edge === 'level';
    const key = ({ sample, jack, volts }: Happening): string => `${sample} ${jack} ${volts}`;
    const sent = [...sentEdges(patch, play)];
    const traced = [...trace(patch, play)].filter(isSent);
    expect(sent.map(key).sort()).toEqual(traced.map(key).sort());
    const everything = [...trace(patch, play)];
    for (const list of [sent, traced, everything])
      expect(list.map(({ sample }) => sample)).toEqual(
        list.map(({ sample }) => sample).toSorted((a, b) => a - b),
      );
  });

  it('of a patch without a rhythm, or of no time, are none', () => {
    const drone = read(
      'modules: { hiss: { kind: noise }, out: { kind: output } }\ncables: [hiss.white -> out.left]\n',
    );
    expect([...sentEdges(drone, { sampleRate: 48_000, seconds: 5 })]).toEqual([]);
    expect([...trace(read(EVERYTHING), { sampleRate: 48_000, seconds: 0 })]).toEqual([]);
  });
});

it('follows triggers back through a switch: what comes in, and what moves it on', () => {
  const patch = read(TURNS);
  const { triggers } = controlPath(patch, netlist(patch));
  const found = triggers.map(({ module, jack, origins, counted }) => ({
    at: `${module.name}.${jack.name}`,
    from: [...origins].sort(),
    counted,
  }));
  const through = { from: ['drums.hit', 'drums.step'], counted: true };
  expect(found.filter(({ at }) => at !== 'turns.clock' && at !== 'turns.reset')).toEqual([
    { at: 'one.trigger', ...through },
    { at: 'two.trigger', ...through },
  ]);
});
