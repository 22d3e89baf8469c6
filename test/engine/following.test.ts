// A rhythm sequencer that follows pulses in the engine: its time comes from the volts at its jack.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { render } from '../../src/engine/render.ts';
import { sentEdges, trace } from '../../src/engine/trace.ts';
import { check } from '../../src/findings/check.ts';
import { playedSeconds } from '../../src/timing/length.ts';
import { between } from '../circuits/cases.ts';
import { close } from '../close.ts';
import { patchFrom, shipped } from '../patch-of.ts';
import { runs } from '../runs.ts';

const RATE = 48_000;
/** Samples that an input takes to notice a pulse: 1 ms. */
const LATE = 48;

/** A patch whose `drums` follow what `cables` bring. */
const patch = (modules: string, cables: readonly string[], drums = '', hat = 'xxxx') =>
  patchFrom(`
modules:
${modules}
  drums: { kind: rhythm, channels: [hat], patterns: { a: { hat: "${hat}" } }${drums} }
  shape: { kind: envelope }
  out: { kind: output }
cables:
  - drums.hat -> shape.trigger
  - shape.out -> out.left
${cables.map((cable) => `  - ${cable}`).join('\n')}
`);

/** Samples at which an input that goes on at 2.5 V and off at 1.5 V has seen so many on. */
function noticedAt(volts: Float64Array, needed = LATE): number[] {
  const found: number[] = [];
  let [isOn, since] = [false, 0];
  volts.forEach((value, at) => {
    const was = isOn;
    isOn = isOn ? value > 1.5 : value >= 2.5;
    if (isOn && !was) since = at;
    if (isOn && at - since === needed - 1) found.push(at);
  });
  return found;
}

function strokesOf(of: ReturnType<typeof patch>, seconds = 2, jack = 'drums.hat'): number[] {
  return [...sentEdges(of, { sampleRate: RATE, seconds })]
    .filter((one) => one.jack === jack && one.edge === 'rise')
    .map(({ sample }) => sample);
}

describe('a rhythm with a plug in clock-in', () => {
  it('goes by the clock, whatever its own tempo', () => {
    const of = patch(
      '  tick: { kind: clock, rate: 5 Hz }',
      ['tick.out -> drums.clock-in'],
      ', tempo: 40 bpm',
    );
    expect(strokesOf(of)).toEqual(Array.from({ length: 10 }, (_, i) => i * 9600 + LATE - 1));
  });

  it('stands where the clock is too weak, and the check says what to do', () => {
    const weak = patchFrom(shipped('to-mend/weak-clock.yaml'));
    expect(strokesOf(weak)).toEqual([]);
    expect(render(weak).channels[0]?.every((sample) => sample === 0)).toBe(true);
    const found = check(weak).filter(({ severity }) => severity === 'fault');
    expect(found.map(({ rule, jack }) => [rule, jack])).toEqual([
      ['level-too-low', { module: 'drums', jack: 'clock-in' }],
    ]);
    expect(found[0]?.fix).toMatch(/^Set level of less to \d+ %/);
  });

  it('follows a sequencer that follows a rhythm, and the check finds nothing in the example', () => {
    const chain = patchFrom(shipped('followed-clock.yaml'));
    expect(check(chain)).toEqual([]);
    const on = (jack: string): number[] =>
      [...trace(chain, { sampleRate: RATE, seconds: 2 })]
        .filter((one) => one.jack === jack && one.edge === 'on')
        .map(({ sample }) => sample);
    const pulses = on('drums.clock-in');
    // 6 Hz: a period is 8000 samples.
    expect(pulses).toEqual(pulses.map((_, i) => (pulses[0] as number) + i * 8000));
    expect(pulses).toHaveLength(12);
    // The steps swing at 56 %: an off-step comes 0.12 of a period after its pulse; the first of them comes
    // by the module's own tempo, of which a pulse is as long.
    const steps = pulses.map((at, i) => at + (i % 2 === 0 ? 0 : 960) + LATE - 1);
    expect(on('walk.clock')).toEqual(steps);
  });

  it('is the same sample for sample at every jack, however its edges are asked for', () => {
    const of = patch(
      '  tick: { kind: clock, rate: 7.3 Hz }\n  drag: { kind: oscillator, at-zero: 0.4 Hz }',
      ['tick.out -> drums.clock-in', 'drag.pulse -> drums.reset-in'],
      ', swing: 61 %, clock: 3 per quarter',
    );
    const taken = render(of, {
      length: { unit: 'seconds', value: 2 },
      probes: [{ module: 'drums', jack: 'hat' }],
      tail: { unit: 'seconds', value: 0 },
    });
    const [volts = new Float64Array(0)] = taken.probes;
    const rises = [...volts.keys()].filter(
      (i) => (volts[i] as number) > 2.5 && !((volts[i - 1] ?? 0) > 2.5),
    );
    expect(rises).toEqual(strokesOf(of));
    const unrested = render(of, {
      length: { unit: 'seconds', value: 2 },
      probes: [{ module: 'drums', jack: 'hat' }],
      tail: { unit: 'seconds', value: 0 },
      passing: false,
    });
    expect(unrested.probes[0]).toEqual(volts);
  });

  it('is within a sample of what the volts at clock-in give, ramped and swaying, with swing and ratchets', () => {
    fc.assert(
      fc.property(
        between(0.1, 3),
        between(0, 20),
        between(4, 12),
        fc.constantFrom(1, 2, 4, 24),
        fc.constantFrom(0.5, 0.6, 0.67),
        fc.constantFrom(1, 2, 3, 5),
        (sway, depth, steps, perQuarter, swing, strokes) => {
          const rate = ((steps * perQuarter) / 4).toFixed(3);
          // The sine sways the pitch by an octave a volt; 5 V of it, less what depth leaves.
          const of = patch(
            `  sway: { kind: oscillator, at-zero: ${sway.toFixed(3)} Hz }
  less: { kind: attenuator, level: ${depth.toFixed(1)} % }
  beat: { kind: oscillator, at-zero: ${rate} Hz }`,
            ['sway.triangle -> less.in', 'less.out -> beat.pitch', 'beat.pulse -> drums.clock-in'],
            `, tempo: 90 bpm, follows: ${perQuarter} per quarter, swing: ${100 * swing} %, gate: 1 ms`,
            `${strokes}`.replace('1', 'x').repeat(4),
          );
          const { probes } = render(of, {
            length: { unit: 'seconds', value: 2 },
            probes: [
              { module: 'drums', jack: 'clock-in' },
              { module: 'drums', jack: 'hat' },
            ],
            tail: { unit: 'seconds', value: 0 },
          });
          const [clock, hat] = probes as [Float64Array, Float64Array];
          const pulses = noticedAt(clock);
          const period = (k: number): number =>
            k === 0
              ? (60 / 90 / perQuarter) * RATE
              : (pulses[k] as number) - (pulses[k - 1] as number);
          const wanted: number[] = [];
          for (let step = 0; (step * perQuarter) / 4 < pulses.length - 1; step++) {
            const [early, late] = [2 * swing, 2 * (1 - swing)];
            const start = step % 2 === 0 ? step : step - 1 + early;
            const length = step % 2 === 0 ? early : late;
            for (let n = 0; n < strokes; n++) {
              const place = ((start + (n * length) / strokes) * perQuarter) / 4;
              const k = Math.floor(place + 1e-9);
              if (k >= pulses.length - 1) continue;
              const at = (pulses[k] as number) + (place - k) * period(k);
              wanted.push(Math.min(at, pulses[k + 1] as number));
            }
          }
          // What comes within a gate of 1 ms and a little is one stroke.
          const apart = wanted.filter((at, i) => at - (wanted[i - 1] ?? -99) > 60);
          expect(apart.length).toBeGreaterThan(3);
          const got = noticedAt(hat, 1);
          for (const at of apart) {
            const near = got.reduce((a, b) => (Math.abs(b - at) < Math.abs(a - at) ? b : a), 0);
            close(near, at, { abs: 1, unit: 'samples', why: 'strokes come at whole samples' });
          }
        },
      ),
      runs(10),
    );
  });

  it('runs in a ring: two rhythms that clock each other go on once a pulse has come', () => {
    // One pulse starts it; from then on each stroke of one is the other's next pulse.
    const ring = patchFrom(`
modules:
  go: { kind: rhythm, tempo: 30 bpm, channels: [once], patterns: { a: { once: "x---" } }, song: [a] }
  joint: { kind: logic }
  one: { kind: rhythm, channels: [hit], follows: 1 per step, gate: 20 ms, patterns: { a: { hit: "x" } } }
  wait: { kind: delay, time: 100 ms, length: 20 ms }
  out: { kind: output }
cables:
  - go.once -> joint.a
  - wait.out -> joint.b
  - joint.or -> one.clock-in
  - one.hit -> wait.trigger
`);
    const found = strokesOf(ring, 1, 'one.hit');
    expect(found.length).toBeGreaterThan(7);
    // 100 ms, what the two inputs take to notice a pulse, and a sample for the cable that closes the ring.
    const gaps = found.slice(1).map((at, i) => at - (found[i] as number));
    for (const gap of gaps)
      close(gap - 4800, LATE, {
        abs: LATE + 2,
        unit: 'samples',
        why: 'what the two inputs take to notice a pulse, and a sample for the cable that closes the ring',
      });
    expect(new Set(gaps).size).toBe(1);
  });

  it('counts the length of a song by the rhythms that keep their own time', () => {
    const alone = patch(
      '  tick: { kind: clock, rate: 5 Hz }',
      ['tick.out -> drums.clock-in'],
      ', tempo: 60 bpm',
    );
    expect(playedSeconds(alone, { unit: 'song' })).toBe(1);
    const led = patch(
      '  lead: { kind: rhythm, tempo: 120 bpm, channels: [kick], patterns: { a: { kick: "x---x---" } } }',
      ['lead.clock -> drums.clock-in'],
      ', tempo: 1 bpm',
    );
    expect(playedSeconds(led, { unit: 'song' })).toBe(1);
  });
});
