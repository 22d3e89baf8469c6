// `measure --as-volts --into`: what a recording shows, written into the rack's file. The recordings are made
// here, so that their levels, width and coupling are known.

import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { factsOf, writeFacts } from '../../../src/cli/reports/facts-into.ts';
import { type PulseMeasures, pulseMeasures } from '../../../src/measure/pulses/pulses.ts';
import { KINDS } from '../../../src/modules/kinds.ts';
import { readRack } from '../../../src/patch/rack/read-rack.ts';
import { close } from '../../close.ts';
import { forehear, PATCHES, scratch } from '../run.ts';

const RATE = 48_000;

/** A clock of 8 Hz, 4 ms wide, from 0.05 to 3.3 V of 10 V full scale, by way of a capacitor if it has a corner. */
function recorded(cornerHz = 0, most = 1): PulseMeasures {
  const kept = Math.exp((-2 * Math.PI * cornerHz) / RATE);
  let [state, before] = [0, 0.005];
  const samples = new Float64Array(2 * RATE).map((_, n) => {
    const at = (n % 6000) - 1000;
    const level = at >= 0 && at < 192 ? 0.33 : 0.005;
    state = kept * (state + level - before);
    before = level;
    return Math.min(most, cornerHz === 0 ? level : state);
  });
  const blocks = () => [{ channels: [samples], frames: samples.length }];
  const measures = pulseMeasures({ sampleRate: RATE, fullScale: 10, channel: 0, blocks });
  if (typeof measures === 'string') throw new Error(measures);
  return measures;
}

const RACK = `# What hangs in the workshop.
title: Own   # mine
units:
  drums:
    kind: rhythm   # the old one
    jacks:
      outputs: { resistance: 470 ohm }   # measured in May
  beat: { kind: clock, fixed: { level: 4 V } }
  mix: { kind: mixer }
`;

function inRack(jack: string, measures = recorded()): string {
  const file = join(scratch(), 'own.yaml');
  writeFileSync(file, RACK);
  try {
    writeFacts(file, jack, measures);
  } catch (error) {
    expect(readFileSync(file, 'utf8')).toBe(RACK);
    throw error;
  }
  return readFileSync(file, 'utf8');
}

describe('what a recording tells of a jack', () => {
  it.each(['drums.clock', 'drums.hat', 'beat.out'])(
    'is in the rack at %s, with all else as it was',
    (at) => {
      const after = inRack(at);
      for (const line of RACK.split('\n').filter((one) => !one.includes('beat:')))
        expect(after).toContain(line);
      const { rack, problems } = readRack(after, { file: 'own.yaml', kinds: KINDS });
      expect(problems).toEqual([]);
      const [unit = '', jack = ''] = at.split('.');
      const { values = {}, doubts = {} } =
        rack?.units.find(({ name }) => name === unit)?.jacks.get(jack) ?? {};
      const why = 'promised: levels to 1 % of the swing';
      close(values.high ?? 0, 3.3, { abs: 0.0325, unit: 'V', why });
      close(values.low ?? 0, 0.05, { abs: 0.0325, unit: 'V', why });
      close(doubts.high ?? 0, 0.0325, { abs: 0.0006, unit: 'V', why: 'rounded to the millivolt' });
      close(values.width ?? 0, 0.004, { abs: 1 / RATE, unit: 's', why: 'edges lie on samples' });
    },
  );

  it('is nothing where no pulse of it is whole', () => {
    const cut = { ...recorded(), width: undefined };
    expect(() => inRack('beat.out', cut)).toThrow(/no pulse.*too short/);
  });

  it('takes the place of what was there before', () => {
    const file = join(scratch(), 'own.yaml');
    writeFileSync(file, RACK);
    writeFacts(file, 'drums.clock', recorded());
    const once = readFileSync(file, 'utf8');
    writeFacts(file, 'drums.clock', recorded());
    expect(readFileSync(file, 'utf8')).toBe(once);
  });

  // Every way in which a new fact can stand to the one before; what overlaps agrees.
  it.each([
    ['new', '', 'width: 4 ms', []],
    ['surer', 'high: 3.2 V +- 0.5 V', 'high: 3.3 V +- 32 mV', ['high', 'surer']],
    ['stated without a tolerance', 'high: 3.29 V', 'high: 3.3 V +- 32 mV', ['high', 'surer']],
    ['contradicting', 'high: 5 V +- 0.1 V', 'high: 3.3 V +- 32 mV', ['high', 'contradicts']],
    [
      'without a tolerance',
      'width: 4.1 ms +- 0.2 ms',
      'width: 4 ms +- 0.2 ms',
      ['width', 'as sure'],
    ],
    [
      'contradicting and without one',
      'width: 3 ms +- 0.2 ms',
      'width: 4 ms +- 0.2 ms',
      ['width', 'contradicts'],
    ],
    [
      'a share of the settings',
      'high: 90 % +- 2 %',
      'high: 3.3 V +- 32 mV',
      ['high', 'contradicts'],
    ],
  ])('says what it takes the place of: %s', (_, before, after, [fact, standing]) => {
    const file = join(scratch(), 'own.yaml');
    const text = RACK.replace(
      'fixed: { level: 4 V }',
      before === '' ? 'has: {}' : `jacks: { out: { ${before} } }`,
    ).replace(', has: {}', '');
    writeFileSync(file, text);
    const { replaced, kept } = writeFacts(file, 'beat.out', recorded());
    expect(readFileSync(file, 'utf8')).toContain(after);
    expect(kept).toEqual([]);
    expect(replaced.map((one) => [one.fact, one.standing])).toEqual(
      fact === undefined ? [] : [[fact, standing]],
    );
  });

  it('leaves what the rack has more exactly, also of all its outputs, and says so', () => {
    const jacks = 'clock: { high: 3.301 V +- 2 mV, resistance: 470 ohm +- 1 % }   # by meter';
    const file = join(scratch(), 'own.yaml');
    const text = RACK.replace(
      'outputs: { resistance: 470 ohm }',
      `outputs: { low: 50 mV +- 1 mV }\n      ${jacks}`,
    );
    writeFileSync(file, text);
    const { facts, kept } = writeFacts(file, 'drums.clock', recorded());
    expect(Object.keys(facts)).toEqual(['width']);
    expect(kept.map((one) => one.split(':')[0])).toEqual(['high', 'low']);
    const after = readFileSync(file, 'utf8');
    for (const words of [
      'high: 3.301 V +- 2 mV',
      '470 ohm +- 1 %',
      '# by meter',
      'low: 50 mV +- 1 mV',
    ])
      expect(after).toContain(words);
  });

  it('holds no level where a capacitor was in the way, or full scale was reached', () => {
    const coupled = factsOf(recorded(4));
    expect(Object.keys(coupled.facts)).toEqual(['width']);
    expect(coupled.untold.join()).toContain('a capacitor was in the way');
    expect(inRack('drums.clock', recorded(4))).not.toMatch(/high|low/);
    const clipped = factsOf({ ...recorded(), clipped: 3 });
    expect(clipped.facts.high).toBeUndefined();
    expect(clipped.untold.join()).toContain('at full scale');
  });

  it('is refused, and nothing written, where a rack has no such thing', () => {
    expect(() => inRack('drum.clock')).toThrow('such as drums.out');
    expect(() => inRack('clock')).toThrow('a unit of');
    expect(() => inRack('mix.out')).toThrow('those of what comes in');
    expect(() => inRack('beat.uot')).toThrow('there is no jack "uot"');
    const nothing = { ...recorded(4), width: undefined, riseTime: undefined };
    expect(() => inRack('drums.clock', nothing)).toThrow('Nothing is written');
  });
});

it('is a part of the command', () => {
  const folder = scratch();
  const bass = join(PATCHES, 'bass-line.yaml');
  const wav = ['timing', bass, '--wav', 'c.wav', '--jacks', 'drums.clock', '--full-scale', '12V'];
  expect(forehear(folder, wav).status).toBe(0);
  writeFileSync(join(folder, 'own.yaml'), RACK);
  const measure = ['measure', 'c.wav', '--as-volts', '12V', '--into', 'own.yaml'];
  const { status, stdout } = forehear(folder, [...measure, '--jack', 'drums.clock']);
  expect(status).toBe(0);
  expect(stdout).toContain('into own.yaml, units: drums: jacks: clock: { high: 5 V +- 50 mV');
  expect(readFileSync(join(folder, 'own.yaml'), 'utf8')).toContain('high: 5 V +- 50 mV');
  expect(forehear(folder, measure).stderr).toContain('give --jack UNIT.JACK');
});
