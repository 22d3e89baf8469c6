// slow-rise: how late an input goes on with a slow edge, against the volts of the render, and that a
// comparator as the check advises makes it go on as soon as the check says.

import { describe, expect, it } from 'vitest';
import { Take } from '../../../src/engine/take.ts';
import { check } from '../../../src/findings/check.ts';
import { close } from '../../close.ts';
import { patchFrom } from '../../patch-of.ts';
import { figure, RATE, rises, voice } from '../voice.ts';

const rackWith = (rise: string, more = ''): string => `units:
  drums: { kind: rhythm, jacks: { hit: { rise: ${rise} } } }
  shape: { kind: envelope }
  hiss: { kind: noise }
  level: { kind: amplifier }
  out: { kind: output }
${more}
`;
const GATE = 'gate: 150 ms';
const onRack = (rack: string, text: string) =>
  patchFrom(`rack: own.yaml\n${text}`, { 'own.yaml': rack });
const found = (rack: string, text = voice({ rhythm: GATE })) =>
  check(onRack(rack, text)).filter(({ rule }) => rule === 'slow-rise');

/** Samples from where the volts at a jack leave 0 V to where they pass 2.5 V at another. */
function lateness(rack: string, text: string, from: string, to: string): number {
  const probes = [from, to].map((name) => {
    const [module = '', jack = ''] = name.split('.');
    return { module, jack };
  });
  const take = new Take(onRack(rack, text), {
    sampleRate: RATE,
    length: { unit: 'seconds', value: 0.4 },
    tail: { unit: 'seconds', value: 0 },
    probes,
  });
  const volts = probes.map(() => new Float64Array(take.totalFrames ?? 0));
  for (let at = 0, given = take.read(); given > 0; at += given, given = take.read())
    volts.forEach(
      (all, i) => void all.set((take.probes[i] as Float64Array).subarray(0, given), at),
    );
  const [edge, gate] = volts as [Float64Array, Float64Array];
  return (rises(gate)[0] as number) - (rises(edge, 1e-4)[0] as number);
}

const COMPARED = voice({
  rhythm: GATE,
  modules: ['edge: { kind: comparator, threshold: 0.5 V }'],
  trigger: ['drums.hit -> edge.in', 'edge.above -> shape.trigger'],
});
const SPARE = '  edge: { kind: comparator }';

describe('slow-rise', () => {
  it('finds an edge by which the envelope comes late, as late as the render has it', () => {
    const [finding, ...others] = found(rackWith('40 ms', SPARE));
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('note');
    expect(finding?.message).toContain('The rack gives drums.hit a rise of 40 ms (own.yaml:2)');
    close(
      lateness(rackWith('40 ms', SPARE), voice({ rhythm: GATE }), 'drums.hit', 'shape.trigger') /
        RATE,
      figure(finding, 'lateSeconds'),
      { abs: 2 / RATE, unit: 's', why: 'an edge lies at a whole sample' },
    );
  });

  it('advises a comparator, which is as early as it says, and with it is not found', () => {
    const rack = rackWith('40 ms', SPARE);
    const [finding] = found(rack);
    expect(finding?.fix).toMatch(
      /^Put a comparator in front of shape\.trigger, its threshold at 0\.5 V/,
    );
    expect(finding?.fix).not.toContain('none to spare');
    expect(figure(finding, 'thresholdVolts')).toBe(0.5);
    expect(found(rack, COMPARED)).toEqual([]);
    close(
      lateness(rack, COMPARED, 'drums.hit', 'shape.trigger') / RATE,
      figure(finding, 'earlySeconds'),
      {
        abs: 2 / RATE,
        unit: 's',
        why: 'an edge lies at a whole sample, and a comparator loads its output as an envelope does',
      },
    );
  });

  it('says where the rack has none to spare', () => {
    expect(found(rackWith('40 ms'))[0]?.fix).toContain('the rack has none to spare');
  });

  it('adds up the slow edges of a converter, a comparator and an input, as the render has it', () => {
    const units = (drums: string) => `units:
  drums: { kind: rhythm, jacks: { hit: { rise: ${drums} } } }
  there: { kind: trigger-converter }
  back: { kind: trigger-converter, jacks: { voltage-out: { rise: 6 ms } } }
  edge: { kind: comparator, jacks: { above: { rise: 5 ms } } }
  shape: { kind: envelope }
  hiss: { kind: noise }
  level: { kind: amplifier }
  out: { kind: output }
`;
    const text = voice({
      rhythm: GATE,
      modules: [
        'there: { kind: trigger-converter, unit: there }',
        'back: { kind: trigger-converter, unit: back }',
        'edge: { kind: comparator, threshold: 3 V }',
      ],
      trigger: [
        'drums.hit -> there.voltage-in',
        'there.switch-out -> back.switch-in',
        'back.voltage-out -> edge.in',
        'edge.above -> shape.trigger',
      ],
    });
    const [finding, ...others] = found(units('6 ms'), text);
    expect(others).toEqual([]);
    expect(finding?.message).toMatch(
      /drums\.hit rises in 6 ms.*edge\.in goes on at 3\.05 V.* in all/,
    );
    expect(finding?.jack).toEqual({ module: 'shape', jack: 'trigger' });
    close(
      lateness(units('6 ms'), text, 'drums.hit', 'shape.trigger') / RATE,
      figure(finding, 'lateSeconds'),
      { abs: 4 / RATE, unit: 's', why: 'each of three edges lies at a whole sample' },
    );
    // Each edge by itself is too quick to be heard, and so is the sum without the first.
    expect(found(units('0 s'), text)).toHaveLength(0);
  });

  it('finds nothing of a rise of which nobody hears', () => {
    // 2.5 V of 4.95 V takes 0.32 of the rise: 15 ms make 4.8 ms.
    expect(found(rackWith('15 ms'))).toEqual([]);
    expect(found(rackWith('17 ms'))).toHaveLength(1);
  });
});

describe('pulse-too-short by a slow rise', () => {
  it('advises a comparator before all else', () => {
    const rack = rackWith('40 ms', SPARE);
    const text = voice({ rhythm: 'gate: 8 ms' });
    const [finding] = check(onRack(rack, text)).filter(({ rule }) => rule === 'pulse-too-short');
    expect(finding?.message).toContain('rises so slowly');
    expect(finding?.fix).toContain(
      'put a comparator in front of shape.trigger, its threshold at 0.5 V',
    );
    // With one the envelope fires at each hit again.
    const mended = COMPARED.replace(GATE, 'gate: 8 ms');
    const rules = check(onRack(rack, mended)).map(({ rule }) => rule);
    expect(rules).not.toContain('pulse-too-short');
    expect(lateness(rack, mended, 'drums.hit', 'shape.trigger')).toBeLessThan(0.003 * RATE);
  });
});
