// `forehear volts`, as a person runs it: what it prints, and how it ends.

import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { close } from '../../close.ts';
import { forehear, scratch } from '../run.ts';

/** A voltage in the input of a switch trigger. */
const HAT = `modules:
  drums: { kind: rhythm, channels: [hat], patterns: { groove: { hat: "--x- --x-" } } }
  shape: { kind: envelope, trigger: switch }
  hiss: { kind: noise }
  level: { kind: amplifier }
  out: { kind: output }
cables:
  - drums.hat  -> shape.trigger
  - shape.out  -> level.control
  - hiss.white -> level.in
  - level.out  -> out.left
`;

function folder(): string {
  const at = scratch();
  writeFileSync(join(at, 'hat.yaml'), HAT);
  return at;
}

describe('volts', () => {
  it('prints a row for every input, with its margin', () => {
    const at = folder();
    const { status, stdout } = forehear(at, ['volts', 'hat.yaml']);
    const [head = '', first = ''] = stdout.split('\n');
    expect(head.split(/ {2,}/)).toEqual([
      'input',
      'driven by',
      'low',
      'high',
      'on',
      'off',
      'margin',
    ]);
    expect(first.split(/ {2,}/).slice(0, 4)).toEqual([
      'shape.trigger',
      'drums.hat',
      '0.455 V',
      '5 V',
    ]);
    expect(first).toContain('on at rest');
    expect(status).toBe(0);
  });

  it('says that sound may be louder than listed, where there is any', () => {
    const at = folder();
    // By the closed form of a filter's resonance: at its cutoff low is q times as loud as what goes in.
    const loud = `modules:
  tone: { kind: oscillator, at-zero: 1 kHz }
  bank: { kind: filter, cutoff: 1 kHz, q: 2 }
  out: { kind: output }
cables: [tone.sine -> bank.in, bank.low -> out.left]
`;
    writeFileSync(join(at, 'loud.yaml'), loud);
    const { stdout } = forehear(at, ['volts', 'loud.yaml']);
    expect(stdout).toMatch(/out\.left +bank\.low +-4\.95 V +4\.95 V\n\nSound is listed as loud as/);
    const run = ['render', 'loud.yaml', '--seconds', '0.2', '--tap', 'bank.low', '--json'];
    const { files } = JSON.parse(forehear(at, run).stdout);
    // 10 V is full scale of a tap.
    const volts = 10 * 10 ** (files[1].peakDbfs / 20);
    expect(volts).toBeGreaterThan(1.9 * 4.95);
    const gates = `modules:
  tick: { kind: clock }
  shape: { kind: envelope }
cables: [tick.out -> shape.trigger]
`;
    writeFileSync(join(at, 'gates.yaml'), gates);
    expect(forehear(at, ['volts', 'gates.yaml']).stdout).not.toContain('Sound');
  });

  it('gives the shape that is promised, with worst cases when asked', () => {
    const at = folder();
    const { nets } = JSON.parse(
      forehear(at, [
        'volts',
        'hat.yaml',
        '--json',
        '--tolerance',
        '5%',
        '--set',
        'shape.trigger=voltage',
      ]).stdout,
    );
    const net = nets.find(({ jacks }: { jacks: string[] }) => jacks.includes('drums.hat'));
    expect(net.jacks).toEqual(['drums.hat', 'shape.trigger']);
    // 5 V x 100 / 101; at worst 4.75 V x 95 / 96.05 and 2.5 V x 1.05.
    close(net.high, 500 / 101, { abs: 5e-10, unit: 'V', why: 'rounding' });
    close(net.worst.high, (5.25 * 105) / 105.95, { abs: 5e-10, unit: 'V', why: 'rounding' });
    expect(net.inputs[0]).toMatchObject({
      jack: 'shape.trigger',
      kind: 'voltage',
      on: 2.5,
      off: 1.5,
      hysteresis: 1,
    });
    close(net.inputs[0].margin, (4.75 * 95) / 96.05 - 2.625, {
      abs: 5e-10,
      unit: 'V',
      why: 'rounding',
    });
  });

  it('shows a fault of the file at its line, and prints no volts', () => {
    const at = folder();
    writeFileSync(join(at, 'wrong.yaml'), HAT.replace('shape.out ', 'shape.put '));
    const { status, stdout, stderr } = forehear(at, ['volts', 'wrong.yaml']);
    expect(stderr).toMatch(/^wrong\.yaml:9:\d+: /);
    expect(stderr).toContain('did you mean out?');
    expect(stdout).toBe('');
    expect(status).toBe(2);
  });
});
