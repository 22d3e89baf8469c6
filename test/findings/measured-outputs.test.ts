// Measured output jacks of a rack, in the check. Levels are worked out by hand (1 kohm into 100 kohm); the
// pulses that an input sees are compared with those that its comparator sees on the volts that the engine
// plays.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { patchLevels } from '../../src/electrical/levels.ts';
import { netlist } from '../../src/electrical/nets.ts';
import { Renderer } from '../../src/engine/renderer.ts';
import { check } from '../../src/findings/check.ts';
import { contextOf } from '../../src/findings/context.ts';
import type { Finding } from '../../src/findings/finding.ts';
import { mended } from '../../src/findings/mend/mending.ts';
import { triggerInput } from '../../src/modules/dsp/trigger-input.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { edgesOf } from '../../src/timing/edges.ts';
import { between } from '../circuits/cases.ts';
import { close } from '../close.ts';
import { drumsOnRack } from '../electrical/measured.ts';
import { patchFrom } from '../patch-of.ts';
import { runs } from '../runs.ts';
import { figure } from './voice.ts';

/** Findings about triggers alone: that gates go into the output is not what is tested. */
function found(patch: Patch): readonly Finding[] {
  return check(patch).filter(({ rule }) => rule !== 'signal-mismatch' && rule !== 'dc-on-output');
}

const rules = (patch: Patch): string[] => found(patch).map(({ rule }) => rule);

describe('a weak clock beside healthy gates', () => {
  it('is found at its own jack, with what the rack says and where', () => {
    const patch = drumsOnRack('outputs: { high: 8 V }, clock: { high: 3.3 V }', 'on: 3.5 V');
    const [finding, ...others] = found(patch);
    expect(others).toEqual([]);
    expect(finding).toMatchObject({
      rule: 'level-too-low',
      severity: 'fault',
      jack: { module: 'one', jack: 'trigger' },
      figures: { onVolts: 3.5 },
    });
    close(figure(finding, 'highVolts'), (3.3 * 100) / 101, {
      abs: 5e-10,
      unit: 'V',
      why: 'rounding',
    });
    expect(finding?.message).toContain(
      'The rack gives drums.clock a high level of 3.3 V (own.yaml:2).',
    );
    expect(finding?.cause).toBe('drums.clock');
  });

  it('is none where it suffices, just', () => {
    expect(rules(drumsOnRack('clock: { high: 3.1 V }'))).toEqual([]);
    expect(rules(drumsOnRack('clock: { high: 3.0 V }'))).toEqual(['level-marginal']);
  });

  it('may fail within the tolerance that the rack states', () => {
    const [finding, ...others] = found(drumsOnRack('clock: { high: 3.3 V +- 0.8 V }'));
    expect(others).toEqual([]);
    expect(finding).toMatchObject({ rule: 'level-too-low', severity: 'caution' });
    expect(finding?.message).toContain('at the worst of the tolerances that the rack states');
    expect(finding?.message).toContain('3.3 V +- 0.8 V (own.yaml:2)');
  });

  it('is not turned up by a setting that the rack says does nothing', () => {
    const rack = (clock: string): string => `units:
  drums: { kind: rhythm, jacks: { clock: { ${clock} } } }
  one: { kind: pulse, jacks: { trigger: { on: 3.5 V } } }
  out: { kind: output }
`;
    const text = `rack: own.yaml
modules:
  drums: { kind: rhythm, channels: [hat], patterns: { a: { hat: "x-x-" } }, song: [a] }
  one: { kind: pulse }
  out: { kind: output }
cables: [drums.clock -> one.trigger, one.out -> out.left]
`;
    const mendedOn = (clock: string) => {
      const files = { 'own.yaml': rack(clock) };
      const texts = { main: 'test.yaml', set: [], texts: { 'test.yaml': text, ...files } };
      const { texts: now, left } = mended(patchFrom(text, files), texts);
      return { text: now.texts['test.yaml'], left: left.map(({ rule }) => rule) };
    };
    const fixed = mendedOn('high: 3.3 V');
    expect(fixed.text).toBe(text);
    expect(fixed.left).toContain('level-too-low');
    // 66 % of 5 V is as weak; what a setting moves is turned up: 7 V gives 4.57 V, 1.3 times 3.5 V.
    const moved = mendedOn('high: 66 %');
    expect(moved.text).toContain('level: 7 V');
    expect(moved.left).not.toContain('level-too-low');
  });

  it('is too much at another jack, with no setting to turn down', () => {
    const [finding, ...others] = found(drumsOnRack('hat: { high: 13 V }'));
    expect(others).toEqual([]);
    expect(finding).toMatchObject({
      rule: 'level-too-high',
      jack: { module: 'two', jack: 'trigger' },
    });
    expect(finding?.fix).toBe('Put an attenuator in between.');
  });
});

describe('pulses of a measured width', () => {
  it('are too short, just, or may be', () => {
    const at = (clock: string) => drumsOnRack(`clock: { ${clock} }`, 'shortest: 2 ms');
    expect(rules(at('width: 2 ms'))).toEqual([]);
    const [finding, ...others] = found(at('width: 1.9 ms'));
    expect(others).toEqual([]);
    expect(finding).toMatchObject({ rule: 'pulse-too-short', severity: 'fault' });
    expect(finding?.message).toContain('The rack gives drums.clock pulses of 1.9 ms (own.yaml:2).');
    const [maybe, ...more] = found(at('width: 2.1 ms +- 10 %'));
    expect(more).toEqual([]);
    expect(maybe).toMatchObject({ rule: 'pulse-too-short', severity: 'caution' });
    expect(rules(at('width: 2.3 ms +- 10 %'))).toEqual([]);
  });

  it('are lengthened or shortened by no setting, straight or through an attenuator', () => {
    const fixes = (width: string, trigger: string, via: string) => {
      const rack = `units:
  drums: { kind: rhythm, jacks: { hat: { width: ${width} } } }
  trim: { kind: attenuator }
  one: { kind: envelope, jacks: { trigger: { shortest: ${trigger} } } }
  out: { kind: output }
`;
      const text = `rack: own.yaml
modules:
  drums: { kind: rhythm, channels: [hat], patterns: { a: { hat: "xxxx" } }, song: [a] }
  trim: { kind: attenuator }
  one: { kind: envelope, attack: 1 ms }
  out: { kind: output }
cables: [${via}, one.out -> out.left]
`;
      return found(patchFrom(text, { 'own.yaml': rack })).map(({ rule, fix }) => [rule, fix]);
    };
    for (const via of [
      'drums.hat -> one.trigger',
      'drums.hat -> trim.in, trim.out -> one.trigger',
    ]) {
      expect(fixes('0.9 ms', '1 ms', via)).toContainEqual([
        'pulse-too-short',
        'Put a pulse module in front of one.trigger.',
      ]);
      expect(fixes('1.2 ms', '1 ms', via)).toContainEqual([
        'peak-not-reached',
        'Shorten the attack, or set one to mode: trigger: no setting lengthens its gate.',
      ]);
      // As long as a step is: they run together.
      const [merging] = fixes('126 ms', '1 ms', via).filter(([rule]) => rule === 'gates-merge');
      expect(merging?.[1]).toMatch(
        /^Keep the hits further apart than the pulses of drums\.hat are/,
      );
    }
  });

  it('end before a slow rise has come so far', () => {
    // 2.5 V of 4.95 V: half of the way takes ln 2 / ln 9 = 0.315 of the rise.
    expect(rules(drumsOnRack('clock: { width: 1 ms, rise: 3 ms }'))).toEqual([]);
    const [finding] = found(drumsOnRack('clock: { width: 1 ms, rise: 3.3 ms }'));
    expect(finding?.message).toContain('drums.clock rises so slowly');
  });
});

describe('the pulses that an input sees', () => {
  it('are those that its comparator sees on the volts played', () => {
    const drawn = fc.record({
      width: fc.constantFrom(0, 1e-3, 6e-3, 150e-3),
      rise: fc.oneof(fc.constant(0), between(1e-4, 0.05)),
      high: between(3.2, 8),
      on: between(1, 2.9),
      hysteresis: between(0.05, 0.9),
    });
    fc.assert(
      fc.property(drawn, ({ width, rise, high, on, hysteresis }) => {
        const facts = [
          `high: ${high.toFixed(3)} V`,
          ...(rise > 0 ? [`rise: ${(1000 * rise).toFixed(4)} ms`] : []),
          ...(width > 0 ? [`width: ${1000 * width} ms`] : []),
        ];
        const thresholds = `on: ${on.toFixed(3)} V, off: ${(on * (1 - hysteresis)).toFixed(4)} V, shortest: 0 s`;
        const patch = drumsOnRack(
          `clock: { ${facts.join(', ')} }`,
          thresholds,
          ', tempo: 117 bpm, swing: 61 %',
        );
        const jack = { module: 'one', jack: 'trigger' };
        const train = contextOf(patch).triggers.at(jack);
        const net = netlist(patch).at(jack);
        const input = net?.inputs[0]?.jack.facts;
        if (train === undefined || input === undefined) throw new Error('no train');
        const seen = seenOn(patch, jack, triggerInput(input, RATE));
        const told = train.pulses.filter(({ start, end }) => end > start && start < SAMPLES - 1);
        const short = told.map(({ start, end }) => ({
          start,
          end: end < SAMPLES - 1 ? end : Infinity,
        }));
        // Where a level lands on a threshold to the last bit, a sample either way is rounding.
        expect(short.length).toBe(seen.length);
        short.forEach((pulse, index) => {
          close(pulse.start, seen[index]?.start ?? 0, {
            abs: 1,
            unit: 'samples',
            why: 'where a level lands on a threshold to the last bit, a sample either way is rounding',
          });
          if (pulse.end < Infinity)
            close(pulse.end, seen[index]?.end ?? 0, {
              abs: 1,
              unit: 'samples',
              why: 'where a level lands on a threshold to the last bit, a sample either way is rounding',
            });
        });
      }),
      runs(60),
    );
  });
});

const RATE = 48_000;
const SAMPLES = 128 * 180;

function seenOn(
  patch: Patch,
  jack: { module: string; jack: string },
  comparator: ReturnType<typeof triggerInput>,
): { start: number; end: number }[] {
  const renderer = new Renderer(patch, {
    sampleRate: RATE,
    edgesOf: (module) => edgesOf(module, { sampleRate: RATE, seed: patch.seed, until: 2 }),
    probes: [jack],
  });
  const seen: { start: number; end: number }[] = [];
  for (let at = 0; at < SAMPLES; at += 128) {
    renderer.next();
    renderer.probes[0]?.forEach((volts, n) => {
      comparator.run(volts);
      const last = seen.at(-1);
      if (comparator.rose) seen.push({ start: at + n, end: Infinity });
      else if (comparator.fell && last !== undefined) last.end = at + n;
    });
  }
  return seen;
}

it('levels of a measured output are those that the engine plays', () => {
  const patch = drumsOnRack('clock: { high: 3.3 V, low: 0.2 V, resistance: 2.2 kohm }');
  const levels = patchLevels(patch).find(({ inputs }) => inputs[0]?.terminal.module.name === 'one');
  close(levels?.high, (3.3 * 100) / 102.2, { abs: 5e-13, unit: 'V', why: 'rounding' });
  close(levels?.low, (0.2 * 100) / 102.2, { abs: 5e-13, unit: 'V', why: 'rounding' });
});
