import { describe, expect, it } from 'vitest';
import { triggerConverter } from '../../src/modules/trigger-converter.ts';
import { solo } from './solo.ts';

/** Volts on an unplugged switch input: its pull-up. */
const OPEN = 5;

// Thresholds: the design, section 6. A transistor follows within the sample.
describe('trigger converter', () => {
  it('closes its switch while the voltage trigger is on, at once and with hysteresis', () => {
    const circuit = solo(triggerConverter);
    const closed = [0, 2.4, 2.5, 1.6, 1.5, 2.4, 5, 0].map((volts) => {
      circuit.run(volts, OPEN);
      return circuit.switchOut;
    });
    expect(closed).toEqual([0, 0, 1, 1, 0, 0, 1, 0]);
    expect(circuit.voltageOut).toBe(0);
  });

  it('gives its level while the switch trigger is pulled low, at once and with hysteresis', () => {
    const circuit = solo(triggerConverter, { settings: { level: 8 } });
    const volts = [OPEN, 1, 0.8, 1.9, 2, 1, 0, OPEN].map((line) => {
      circuit.run(0, line);
      return circuit.voltageOut;
    });
    expect(volts).toEqual([0, 0, 8, 8, 0, 0, 8, 0]);
    expect(circuit.switchOut).toBe(0);
  });

  it('passes a pulse of a single sample either way', () => {
    const circuit = solo(triggerConverter);
    circuit.run(5, 0);
    expect([circuit.switchOut, circuit.voltageOut]).toEqual([1, 5]);
    circuit.run(0, OPEN);
    expect([circuit.switchOut, circuit.voltageOut]).toEqual([0, 0]);
  });

  it('has the jacks of the ways that it goes, and needs what these need', () => {
    const of = (way: string) => ({
      jacks: triggerConverter.jacks({ way, level: 5 }).map(({ name }) => name),
      needs: triggerConverter.needs?.({ way, level: 5 }).map(({ inputs }) => inputs),
    });
    const [up, down] = [
      { jacks: ['switch-in', 'voltage-out'], needs: [['switch-in']] },
      { jacks: ['voltage-in', 'switch-out'], needs: [['voltage-in']] },
    ];
    expect(of('switch-to-voltage')).toEqual(up);
    expect(of('voltage-to-switch')).toEqual(down);
    expect(of('both')).toEqual({
      jacks: ['voltage-in', 'switch-in', 'switch-out', 'voltage-out'],
      needs: [['voltage-in'], ['switch-in']],
    });
  });

  it('does one way alone what it does of both', () => {
    const volts = [0, 2.4, 2.5, 1.6, 1.5, 0.9, 0.7, 2, 2.1, 5, 0.8, 0];
    const both = solo(triggerConverter, { settings: { level: 8 } });
    const down = solo(triggerConverter, { settings: { way: 'voltage-to-switch', level: 8 } });
    const up = solo(triggerConverter, { settings: { way: 'switch-to-voltage', level: 8 } });
    for (const one of volts) {
      both.run(one, one);
      down.run(one);
      up.run(one);
      expect([down.switchOut, up.voltageOut]).toEqual([both.switchOut, both.voltageOut]);
    }
  });

  it('tells the electricity its level', () => {
    const jack = triggerConverter
      .jacks({ way: 'both', level: 8 })
      .find(({ name }) => name === 'voltage-out');
    expect(jack).toMatchObject({ facts: { type: 'voltage', low: 0, high: 8 } });
  });
});
