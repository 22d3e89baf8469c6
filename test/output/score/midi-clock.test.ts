// How far the clock of a MIDI file drifts from the performance in an hour, read back by the midi-file package. Times
// are sums of 60 / bpm.

import { parseMidi } from 'midi-file';
import { describe, expect, it } from 'vitest';
import { midiFile } from '../../../src/output/score/midi-file.ts';
import { patchFrom } from '../../patch-of.ts';

describe('the clock of a MIDI file', () => {
  // Tempos whose microseconds a quarter note are as far as can be from a whole number, either way, and changes
  // of them; the last has a quarter that no ticks divide.
  const songs: readonly (readonly [what: string, tempos: readonly number[]])[] = [
    ['one tempo', [60e6 / 500_000.49]],
    ['one tempo, rounded down', [60e6 / 500_000.51]],
    ['changes', [60e6 / 499_999.5, 60e6 / 300_000.49, 60e6 / 800_000.45, 60e6 / 333_333.49]],
  ];
  it.each(songs)('drifts by at most 1 ms in an hour: %s', (_, tempos) => {
    const patterns = tempos.map(
      (tempo, index) =>
        `p${index}: { tempo: ${tempo.toFixed(9)} bpm, steps-per-quarter: ${3 + index}, length: ${16 + 7 * index}, hit: x }`,
    );
    const patch = patchFrom(`modules:
  drums: { kind: rhythm, channels: [hit], patterns: { ${patterns.join(', ')} }, song: [${tempos.map((__, index) => `p${index}`).join(', ')}] }
  out: { kind: output }
`);
    const HOUR = 3600;
    const midi = parseMidi(midiFile(patch, HOUR).bytes);
    const division = midi.header.ticksPerBeat as number;
    // All notes and tempos of the file in time, by the file alone.
    const events = midi.tracks
      .flatMap((track) => {
        let tick = 0;
        return track.map((event) => {
          tick += event.deltaTime;
          return { tick, event };
        });
      })
      .filter(({ event }) => event.type === 'setTempo' || event.type === 'noteOn')
      .sort((a, b) => a.tick - b.tick || (a.event.type === 'setTempo' ? -1 : 1));
    let [now, last, micros] = [0, 0, 0];
    const heard: number[] = [];
    for (const { tick, event } of events) {
      now += ((tick - last) / division) * micros * 1e-6;
      last = tick;
      if (event.type === 'setTempo') micros = event.microsecondsPerBeat;
      else heard.push(now);
    }
    // And what they are by the patch: steps one after the other, each 60 / bpm / steps per quarter.
    const due: number[] = [];
    for (let start = 0, entry = 0; start < HOUR; entry++) {
      const index = entry % tempos.length;
      const quarter = 60 / Number((tempos[index] as number).toFixed(9));
      const steps = 16 + 7 * index;
      for (let step = 0; step < steps; step++) {
        const time = start + (step * quarter) / (3 + index);
        if (time < HOUR - 1e-6) due.push(time);
      }
      start += (steps * quarter) / (3 + index);
    }
    expect(heard.length).toBe(due.length);
    const worst = heard.reduce(
      (most, time, n) => Math.max(most, Math.abs(time - (due[n] as number))),
      0,
    );
    expect(worst).toBeLessThan(1e-3);
  });
});
