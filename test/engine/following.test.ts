// A rhythm sequencer that follows pulses in the engine: its time comes from the volts at its jack.

import { describe, expect, it } from 'vitest';
import { render } from '../../src/engine/render.ts';
import { sentEdges, trace } from '../../src/engine/trace.ts';
import { check } from '../../src/findings/check.ts';
import { playedSeconds } from '../../src/timing/length.ts';
import { patchFrom, shipped } from '../findings/read.ts';

const RATE = 48_000;
/** s that an input takes to notice a pulse, in samples. */
const LATE = 48;

/** A patch whose `drums` follow what `cables` bring. */
const patch = (modules: string, cables: readonly string[], drums = '') =>
  patchFrom(`
modules:
${modules}
  drums: { kind: rhythm, channels: [hat], patterns: { a: { hat: "xxxx" } }${drums} }
  shape: { kind: envelope }
  out: { kind: output }
cables:
  - drums.hat -> shape.trigger
  - shape.out -> out.left
${cables.map((cable) => `  - ${cable}`).join('\n')}
`);

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
    for (const gap of gaps) expect(Math.abs(gap - 4800 - LATE)).toBeLessThanOrEqual(LATE + 2);
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
