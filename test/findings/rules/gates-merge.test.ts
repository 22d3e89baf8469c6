// gates-merge: hits that a gate still high swallows, counted in the render's samples.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { close } from '../../close.ts';
import { runs } from '../../runs.ts';
import { by, figure, rendered, rises, troubles, voice } from '../voice.ts';

function risesAt(text: string, jack: string): number {
  return rises(rendered(text, [jack]).volts[0] as Float64Array).length;
}

describe('gates-merge', () => {
  it('counts the hits that gates of 100 % swallow', () => {
    // Eight hits in four groups, of which each group is one gate.
    const text = voice({ rhythm: 'gate: 100 %', hit: 'xx-xxx-x xx------' });
    const [finding] = by('gates-merge', text);
    expect(finding?.severity).toBe('caution');
    expect(figure(finding, 'hits')).toBe(8);
    expect(figure(finding, 'missedHits')).toBe(8 - risesAt(text, 'shape.trigger'));
    close(figure(finding, 'spacingSeconds'), 0.125, { abs: 5e-10, unit: 's', why: 'rounding' });
  });

  it('finds nothing at 99 %, where each hit rises', () => {
    const text = voice({ rhythm: 'gate: 99 %', hit: 'xx-xxx-x xx------' });
    expect(troubles(text)).toEqual([]);
    expect(risesAt(text, 'shape.trigger')).toBe(8);
  });

  it('calls it a fault where there is no second trigger at all', () => {
    const text = voice({ rhythm: 'gate: 100 %', hit: 'xxxxxxxx' });
    expect(troubles(text)).toEqual(['gates-merge fault']);
    expect(risesAt(text, 'shape.trigger')).toBe(1);
  });

  it('goes by the pulses that a rhythm follows, not by its own tempo', () => {
    // Steps of 125 ms by its own tempo, of 100 ms by the clock.
    const followed = (gate: number) =>
      voice({
        rhythm: `gate: ${gate} ms`,
        hit: 'xx-xxx-x xx------',
        modules: ['beat: { kind: clock, rate: 10 Hz }', 'less: { kind: attenuator, level: 90 % }'],
        cables: ['beat.out -> drums.clock-in'],
        trigger: ['drums.hit -> less.in', 'less.out -> shape.trigger'],
      });
    const [finding] = by('gates-merge', followed(101));
    // A rehearsal of 2 s is the song of 1.6 s once, and its first three hits again, of which one merges.
    expect(figure(finding, 'hits') - figure(finding, 'missedHits')).toBe(
      risesAt(followed(101), 'shape.trigger'),
    );
    expect(figure(finding, 'missedHits')).toBeGreaterThan(3);
    close(figure(finding, 'spacingSeconds'), 0.1, {
      abs: 5e-5,
      unit: 's',
      why: 'edges lie on samples',
    });
    expect(by('gates-merge', followed(98))).toEqual([]);
  });

  it('follows the gates through a converter to a switch trigger', () => {
    const text = voice({
      rhythm: 'gate: 130 ms',
      hit: 'xxx-x---',
      shape: 'trigger: switch, attack: 1 ms, decay: 80 ms, release: 80 ms',
      modules: ['adapt: { kind: trigger-converter }'],
      trigger: ['drums.hit -> adapt.voltage-in', 'adapt.switch-out -> shape.trigger'],
    });
    const [finding] = by('gates-merge', text);
    expect(finding?.jack).toEqual({ module: 'shape', jack: 'trigger' });
    expect(figure(finding, 'missedHits')).toBe(4 - risesAt(text, 'drums.hit'));
  });

  it('finds hits that a stretched pulse swallows, once, where it happens', () => {
    const stretched = (length: number) =>
      voice({
        hit: 'xx--xxx-',
        shape: 'mode: trigger, attack: 1 ms, decay: 80 ms',
        modules: [`wide: { kind: pulse, length: ${length} ms }`],
        trigger: ['drums.hit -> wide.trigger', 'wide.out -> shape.trigger'],
      });
    const [finding, ...others] = by('gates-merge', stretched(126));
    expect(others).toEqual([]);
    expect(finding?.jack?.module).toBe('shape');
    expect(figure(finding, 'missedHits')).toBe(5 - risesAt(stretched(126), 'wide.out'));
    expect(troubles(stretched(124))).toEqual([]);
    expect(risesAt(stretched(124), 'wide.out')).toBe(5);
  });

  it('finds hits of one channel under gates of another, through logic', () => {
    const two = (gate: number) =>
      voice({
        channels: '[hit, low]',
        patterns: '{ groove: { hit: "x---x---", low: "-x--x---" } }',
        rhythm: `gate: ${gate} ms`,
        modules: ['both: { kind: logic }'],
        trigger: ['drums.hit -> both.a', 'drums.low -> both.b', 'both.or -> shape.trigger'],
      });
    const [finding] = by('gates-merge', two(130));
    // Four strokes, of which two fall together and are one; the low one of step 2 is swallowed.
    expect(figure(finding, 'missedHits')).toBe(1);
    expect(risesAt(two(130), 'both.or')).toBe(2);
    expect(troubles(two(120))).toEqual([]);
    expect(risesAt(two(120), 'both.or')).toBe(3);
  });

  it('finds them behind mixers, attenuators that turn gates over, and comparators', () => {
    const compared = (gate: number, from: 'below' | 'above') =>
      voice({
        channels: '[hit, low]',
        patterns: '{ groove: { hit: "x---x---", low: "-x--x---" } }',
        rhythm: `gate: ${gate} ms`,
        modules: [
          'both: { kind: mixer }',
          'turn: { kind: attenuator, level: -100 %, offset: 5 V }',
          'high: { kind: comparator, threshold: 2.5 V }',
        ],
        trigger: [
          'drums.hit -> both.in-1',
          'drums.low -> both.in-2',
          'both.out -> turn.in',
          'turn.out -> high.in',
          `high.${from} -> shape.trigger`,
        ],
      });
    const [finding] = by('gates-merge', compared(130, 'below'));
    expect(figure(finding, 'missedHits')).toBe(1);
    expect(risesAt(compared(130, 'below'), 'high.below')).toBe(2);
    expect(by('gates-merge', compared(120, 'below'))).toEqual([]);
    expect(risesAt(compared(120, 'below'), 'high.below')).toBe(3);
    // What rises where gates end is meant for no stroke.
    expect(by('gates-merge', compared(130, 'above'))).toEqual([]);
  });

  it('does not take a gate that is mixed in softly for one that is meant to pass', () => {
    const text = voice({
      channels: '[hit, low]',
      patterns: '{ groove: { hit: "x---x---", low: "-x--x---" } }',
      rhythm: 'gate: 130 ms',
      modules: [
        'both: { kind: mixer, level-2: 10 % }',
        'high: { kind: comparator, threshold: 2.5 V }',
      ],
      trigger: [
        'drums.hit -> both.in-1',
        'drums.low -> both.in-2',
        'both.out -> high.in',
        'high.above -> shape.trigger',
      ],
    });
    expect(by('gates-merge', text)).toEqual([]);
    expect(risesAt(text, 'high.above')).toBe(2);
  });
});

/** What an input that goes on at 2.5 V and off at 1.5 V hears of the volts at its jack. */
function heardAt(text: string, jack: string, files: Readonly<Record<string, string>>): number {
  const [volts] = rendered(text, [jack], undefined, files).volts as [Float64Array];
  let [isOn, count] = [false, 0];
  for (const value of volts) {
    if (!isOn && value >= 2.5) count += 1;
    isOn = isOn ? value > 1.5 : value >= 2.5;
  }
  return count;
}

/** The drums of a rack: how their output rises, and falls. */
const slowRack = (rise: number, high: number) => ({
  'own.yaml': `units:
  drums: { kind: rhythm, jacks: { hit: { rise: ${rise} ms, high: ${high} V } } }
  shape: { kind: envelope }
  hiss: { kind: noise }
  level: { kind: amplifier }
  edge: { kind: comparator }
  out: { kind: output }
`,
});

describe('what is advised where gates merge', () => {
  it('keeps the hits apart on an output that falls slowly, by a shorter gate and by a comparator', () => {
    let [gates, comparators] = [0, 0];
    fc.assert(
      fc.property(
        fc.integer({ min: 30, max: 200 }),
        fc.integer({ min: 6, max: 12 }),
        fc.integer({ min: 30, max: 115 }),
        fc.constantFrom('xx-xx-x-', 'xxxx--x-', 'x-xxx-xx'),
        (rise, high, gate, hit) => {
          const files = slowRack(rise, high);
          const written = [...hit].filter((step) => step === 'x').length;
          const on = (wanted: Parameters<typeof voice>[0]) =>
            `rack: own.yaml\n${voice({ hit, ...wanted })}`;
          const plain = on({ rhythm: `gate: ${gate} ms` });
          const [finding] = by('gates-merge', plain, files);
          if (finding === undefined) return;
          expect(heardAt(plain, 'shape.trigger', files)).toBeLessThan(written);
          const shorter = /gate of drums to (\S+ ms) or less/.exec(finding.fix)?.[1];
          if (shorter !== undefined) {
            gates += 1;
            const mended = on({ rhythm: `gate: ${shorter}` });
            expect(heardAt(mended, 'shape.trigger', files)).toBe(written);
            expect(by('gates-merge', mended, files)).toEqual([]);
          }
          const threshold = /its threshold at (\S+ V)/.exec(finding.fix)?.[1];
          if (threshold !== undefined) {
            comparators += 1;
            const mended = on({
              rhythm: `gate: ${gate} ms`,
              modules: [`edge: { kind: comparator, threshold: ${threshold} }`],
              trigger: ['drums.hit -> edge.in', 'edge.above -> shape.trigger'],
            });
            expect(heardAt(mended, 'shape.trigger', files)).toBe(written);
          }
        },
      ),
      runs(25),
    );
    expect(gates).toBeGreaterThan(3);
    expect(comparators).toBeGreaterThan(3);
  });

  it('is no pulse module behind the gates, which sees no rise either, but one before they meet', () => {
    const gates = (trigger: readonly string[], modules: readonly string[]) =>
      voice({
        channels: '[hit, low]',
        patterns: '{ groove: { hit: "x---x---", low: "-x---x--" } }',
        rhythm: 'gate: 130 ms',
        modules: ['both: { kind: logic }', ...modules],
        trigger,
      });
    const plain = gates(
      ['drums.hit -> both.a', 'drums.low -> both.b', 'both.or -> shape.trigger'],
      [],
    );
    expect(by('gates-merge', plain)[0]?.fix).toBe(
      'Make the gate shorter than 125 ms, or put a short pulse module behind each of what both.or is made of.',
    );
    const short = (name: string) => `${name}: { kind: pulse, length: 5 ms }`;
    const behind = gates(
      [
        'drums.hit -> both.a',
        'drums.low -> both.b',
        'both.or -> one.trigger',
        'one.out -> shape.trigger',
      ],
      [short('one')],
    );
    expect(risesAt(behind, 'shape.trigger')).toBe(2);
    const before = gates(
      [
        'drums.hit -> one.trigger',
        'drums.low -> two.trigger',
        'one.out -> both.a',
        'two.out -> both.b',
        'both.or -> shape.trigger',
      ],
      [short('one'), short('two')],
    );
    expect(risesAt(before, 'shape.trigger')).toBe(4);
    expect(troubles(before)).toEqual([]);
  });

  it('names the module whose pulses are too long, and what a rack fixes', () => {
    const wide = voice({
      hit: 'xx--xxx-',
      modules: ['wide: { kind: pulse, length: 126 ms }'],
      trigger: ['drums.hit -> wide.trigger', 'wide.out -> shape.trigger'],
    });
    expect(by('gates-merge', wide)[0]?.fix).toBe('Set length of wide to less than 125 ms.');
    const files = { 'own.yaml': slowRack(1, 5)['own.yaml'].replace('rise: 1 ms', 'width: 130 ms') };
    const fixed = `rack: own.yaml\n${voice({ hit: 'xx--xxx-' })}`;
    expect(by('gates-merge', fixed, files)[0]?.fix).toBe(
      'Keep the hits further apart than the pulses of drums.hit are long: no setting makes them shorter.',
    );
  });
});
