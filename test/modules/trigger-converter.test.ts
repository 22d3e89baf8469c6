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

  it('tells the electricity its level', () => {
    const jack = triggerConverter.jacks({ level: 8 }).find(({ name }) => name === 'voltage-out');
    expect(jack).toMatchObject({ facts: { type: 'voltage', low: 0, high: 8 } });
  });
});
