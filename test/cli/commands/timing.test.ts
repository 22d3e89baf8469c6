// The timing command, run as built: the score, its files, and every way to ask wrongly.

import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { parseMidi } from 'midi-file';
import { describe, expect, it } from 'vitest';
import { close } from '../../close.ts';
import { readRiff } from '../../riff.ts';
import { forehear, PATCHES, scratch } from '../run.ts';

const BASS = join(PATCHES, 'bass-line.yaml');
const HAT = join(PATCHES, 'closed-hat.yaml');

function timing(...args: string[]) {
  return forehear(scratch(), ['timing', ...args]);
}

/** Runs it on a rhythm with these settings. */
function timingOf(rhythm: string, ...args: string[]) {
  const folder = scratch();
  const text = `modules:\n  drums: { kind: rhythm, channels: [a], ${rhythm} }\n  out: { kind: output }\n`;
  writeFileSync(join(folder, 'patch.yaml'), text);
  return forehear(folder, ['timing', 'patch.yaml', ...args]);
}

describe('forehear timing', () => {
  it('prints a score that 80 columns hold, with latencies and followers beneath', () => {
    const { status, stdout, stderr } = timing(BASS);
    expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
    const drawn = stdout.split('\n').filter((row) => row.includes('|'));
    expect(Math.max(...drawn.map((row) => row.length))).toBeLessThanOrEqual(80);
    expect(stdout).toMatch(/^Bass line beside a beat: 4\.615 s, 2 bars of 4 quarters, at 48 kHz\n/);
    expect(stdout).toMatch(/\nwalk step +\|1 {2}·/);
    expect(stdout).toMatch(/\nshape\.trigger +drums\.clock +14 +1\.958 ms\n/);
    expect(stdout).toMatch(/walk \(6 steps\) begins bars 1 to 2 at steps 1, 1\./);
  });

  it('prints every edge as comma-separated values, in order, to the end of ten hours', () => {
    const { status, stdout } = timing(HAT, '--csv', '--seconds', '36000');
    expect(status).toBe(0);
    const rows = stdout.trimEnd().split('\n');
    expect(rows[0]).toBe('time,sample,jack,edge,volts,bar,step');
    // 92 bpm, 16 steps a pattern, a clock a step: ceil(36000 x 92 x 4 / 60) pulses.
    const clocks = rows.filter((row) => row.includes(',drums.clock,rise,'));
    expect(clocks).toHaveLength(220_800);
    // Step 220800 starts at 220799 x 15/92 s, swung: 54 % of its pair.
    const last = Number(clocks.at(-1)?.split(',')[0]);
    close(last, (220_798 + 1.08) * (15 / 92), {
      abs: 1e-8,
      unit: 's',
      why: 'printed to a nanosecond, and rounding of ten hours',
    });
    expect(rows.at(-1)).toBe('36000.000000000,1728000000,drums.run,fall,0,13800,16');
  });

  it('adds what inputs, followers and envelopes do with --wires', () => {
    const { stdout } = timing(BASS, '--csv', '--wires', '--bars', '1');
    const rows = stdout.trimEnd().split('\n');
    expect(rows[0]).toBe('time,sample,jack,edge,volts,bar,step,latency,position');
    const [step] = rows.slice(1).filter((row) => row.includes(',step,'));
    // 5 V behind 1 kohm into 100 kohm.
    expect(step).toMatch(/^0\.000979167,47,walk\.clock,step,4\.950495\d*,1,1,0\.000979167,1$/);
  });

  it('gives one JSON object', () => {
    const { stdout } = timing(BASS, '--json', '--bars', '1', '--rate', '44100');
    const { sampleRate, events } = JSON.parse(stdout) as {
      sampleRate: number;
      events: Record<string, unknown>[];
    };
    expect(sampleRate).toBe(44_100);
    expect(events[0]).toMatchObject({
      time: 0,
      sample: 0,
      jack: 'drums.kick',
      edge: 'rise',
      volts: 5,
      bar: 1,
      step: 1,
    });
    const keys = ['time', 'sample', 'jack', 'edge', 'volts', 'bar', 'step'];
    for (const event of events) expect(Object.keys(event)).toEqual(expect.arrayContaining(keys));
  });

  it('writes the rows of a step sequencer into the MIDI file, and says each note and what is off', () => {
    const folder = scratch();
    const asked = ['timing', BASS, '--set', 'walk.rows.pitch=[C2, 20 mV, G1, Bb1, C2, Eb2]'];
    const written = forehear(folder, [...asked, '--midi', 'bass.mid']);
    // Two bars of eighths, the fourth of six silent: 7 of 8 a bar. The second step comes twice in each.
    expect(written.stdout).toBe(
      'bass.mid\n  drums.kick: note 36 on channel 10\n  drums.again: note 60 on channel 10\n' +
        '  walk.pitch: 14 notes on a track of its own, channel 1\n' +
        '    4 of them between two notes of MIDI: the nearer one is written, up to 24 cents off\n',
    );
    const { tracks } = parseMidi(readFileSync(join(folder, 'bass.mid')));
    const names = tracks.flatMap((track) =>
      track.flatMap((event) => (event.type === 'trackName' ? [event.text] : [])),
    );
    expect(names.at(-1)).toBe('walk.pitch');
    const json = forehear(folder, [...asked, '--midi', 'bass.mid', '--json']);
    expect(JSON.parse(json.stdout).midiRows).toMatchObject([
      { jack: 'walk.pitch', notes: 14, rounded: 4, beyond: 0 },
    ]);
    const chosen = ['--without', 'again', '--note', 'kick=35', '--channel', 'walk.pitch=2'];
    const other = forehear(folder, [...asked, '--midi', 'other.mid', ...chosen]);
    expect(other.stdout).toMatch(
      /^other\.mid\n {2}drums\.kick: note 35 on channel 10\n {2}walk\.pitch: 14 notes .*, channel 2\n/,
    );
    expect(parseMidi(readFileSync(join(folder, 'other.mid'))).tracks).toHaveLength(3);
    expect(forehear(folder, [...asked, ...chosen]).stderr).toContain('are of --midi');
  });

  it('tells which tracks of a MIDI file have no note', () => {
    const folder = scratch();
    const silent = (...set: string[]) =>
      forehear(folder, ['timing', BASS, '--midi', 'bass.mid', ...set]).stderr;
    expect(silent()).not.toContain('no note');
    expect(silent('--set', 'walk.rows.pitch=[9 V]')).toContain(
      'no note of walk.pitch is in the file',
    );
    const { tracks } = parseMidi(readFileSync(join(folder, 'bass.mid')));
    expect(tracks.at(-1)?.filter(({ type }) => type === 'noteOn')).toEqual([]);
  });

  it('writes a chart, a MIDI file and gates as volts, with the caution', () => {
    const folder = scratch();
    const { status, stdout, stderr } = forehear(folder, [
      'timing',
      BASS,
      ...['--svg', 'score.svg', '--midi', 'song.mid', '--wav', 'gates.wav'],
      // One a gate: kick, again, clock, run, start.
      ...['--full-scale', '10V', '--calibration', '1.02,1,1,1,1'],
    ]);
    expect(status).toBe(0);
    expect(stdout).toMatch(
      /^score\.svg\nsong\.mid\n(?: {2}drums\..+: note \d+ on channel 10\n){2} {2}walk\.pitch: 14 notes .*\ngates\.wav\n {2}4\.615 s, 48 kHz, 24 bit, peak 0\.510/,
    );
    expect(stdout).toMatch(/\n {2}channel 1 {2}drums\.kick {3}0 to 5 V {2}x 1\.02\n/);
    expect(stdout).toMatch(/\n {2}channel 3 {2}drums\.clock {2}0 to 5 V *\n/);
    expect(stderr).toMatch(/direct current: never send them to headphones/);
    expect(readFileSync(join(folder, 'score.svg'), 'utf8')).toMatch(/^<svg /);
    expect(parseMidi(readFileSync(join(folder, 'song.mid'))).header.format).toBe(1);
    expect(readRiff(readFileSync(join(folder, 'gates.wav'))).id).toBe('RIFF');
  });

  it('says nothing but errors with --quiet', () => {
    expect(timing(BASS, '--quiet')).toEqual({ status: 0, stdout: '', stderr: '' });
  });

  it('counts in', () => {
    const { stdout } = timing(BASS, '--set', 'drums.count-in=1', '--bars', '1');
    expect(stdout).toMatch(/\nbar 0, 0 s: count-in, 104 bpm\n/);
    expect(stdout).toMatch(/\nbar 1, 2\.308 s: groove, 104 bpm\n/);
  });
});

describe('what is asked wrongly', () => {
  it.each([
    [
      'an empty song',
      'patterns: { p: { a: x } }, song: []',
      /patch\.yaml:2:\d+: the song is empty/,
    ],
    [
      'a pattern of no length',
      'patterns: { p: { a: x, length: 0 } }',
      /patch\.yaml:2:\d+: "length" is out of range: "0"/,
    ],
    ['a line without a step', 'patterns: { p: { a: "" } }', /patch\.yaml:2:\d+: /],
    [
      'a flam longer than its step',
      'tempo: 400 bpm, flam: 40 ms, patterns: { p: { a: f } }',
      /patch\.yaml:2:\d+: a flam of 40 ms does not fit into a step of 37\.5 ms/,
    ],
    [
      'next to no tempo',
      'tempo: 1e-9 bpm, patterns: { p: { a: x } }',
      /patch\.yaml:2:\d+: "tempo" is out of range: "1e-9 bpm"/,
    ],
    [
      'a note that is none',
      'notes: { a: 128 }, patterns: { p: { a: x } }',
      /patch\.yaml:2:\d+: "a" is out of range: "128"/,
    ],
    [
      'a note of no channel',
      'notes: { b: 36 }, patterns: { p: { a: x } }',
      /patch\.yaml:2:\d+: there is no channel "b"/,
    ],
    [
      'too many bars to count in',
      'count-in: 17, patterns: { p: { a: x } }',
      /patch\.yaml:2:\d+: "count-in" is out of range/,
    ],
  ])('%s is an error with its place', (_, rhythm, message) => {
    const { status, stdout, stderr } = timingOf(rhythm);
    expect({ status, stdout }).toEqual({ status: 2, stdout: '' });
    expect(stderr).toMatch(message);
  });

  it('999 bpm at 64 steps a quarter is played, every step of it', () => {
    const rhythm =
      'tempo: 999 bpm, gate: 30 %, patterns: { p: { a: x, steps-per-quarter: 64, length: 64 } }';
    const { status, stdout } = timingOf(rhythm, '--csv', '--seconds', '1');
    expect(status).toBe(0);
    const rises = stdout.split('\n').filter((row) => row.includes(',drums.a,rise,'));
    // ceil(999 x 64 / 60) steps begin within a second, each at its nearest sample.
    expect(rises).toHaveLength(1066);
    rises.forEach((row, k) => {
      expect(Number(row.split(',')[1])).toBe(Math.round((k * 60 * 48_000) / (999 * 64)));
    });
  });

  it.each([
    [['--bars', '0'], /a whole number from 1/],
    [['--bars', '2', '--seconds', '3'], /cannot be used with/],
    [['--csv', '--json'], /cannot be used with/],
    [['--full-scale', 'loud'], /a voltage such as 10 V, from 1 mV to 100 V/],
    [['--calibration', '9'], /a plain number such as 1\.02, from 0\.5 to 2/],
    [['--wav', 'g.wav', '--full-scale', '4V'], /5 V x 1 is more than the interface gives/],
    [['--wav', 'g.wav', '--jacks', 'drums'], /this names a module, and a jack of it is needed/],
    [['--wav', 'g.wav', '--jacks', 'drums.clock,drums.clock'], /drums\.clock is there twice/],
    [['--wav', 'g.wav', '--jacks', 'drums.clock,out.left'], /out\.left is an input/],
    [['--wav', 'g.wav', '--calibration', '1,1.02'], /2 factors and the file has \d channels/],
    [
      ['--wav', 'g.wav', '--jacks', 'drums.clock', '--calibration', '1,1.02'],
      /2 factors and the file has 1 channel\./,
    ],
    [['--wav', 'g.wav', '--jacks', 'drums.clock,'], /a name is missing/],
    [['--jacks', 'drums.clock'], /--jacks is of --wav/],
    [['--full-scale', '10V'], /--full-scale is of --wav/],
    [['--calibration', '1.02', '--midi', 'm.mid'], /--calibration is of --wav/],
    [['--wires'], /--wires is of --csv/],
    [
      ['--midi', 'm.mid', '--svg', 's.svg', '--wav', 'g.wav', '--full-scale', '4V'],
      /5 V x 1 is more than/,
    ],
    [['--midi', 'm.mid', '--wav', 'g.wav', '--svg', 's.svg', '--bars', '65'], /at most 64 bars/],
    [['--svg', 's.svg', '--bars', '65'], /--svg draws at most 64 bars/],
    [['--seconds', '36000'], /more than 1000 bars/],
    [['--svg', join('no', 'folder.svg')], /its folder does not exist/],
    [
      ['--midi', 'm.mid', '--set', 'drums.tempo=2bpm'],
      /^--set:1:\d+: a MIDI file holds no tempo under 3\.58 bpm/,
    ],
  ])('%j is refused', (args, message) => {
    const folder = scratch();
    const { status, stderr } = forehear(folder, ['timing', BASS, ...args]);
    expect(status).toBe(2);
    expect(stderr).toMatch(message);
    for (const name of ['g.wav', 's.svg', 'm.mid'])
      expect(existsSync(join(folder, name))).toBe(false);
  });

  it('a patch without a rhythm has no bars', () => {
    const { status, stderr } = forehear(
      scratch(),
      ['timing', '-'],
      'modules: { hiss: { kind: noise }, out: { kind: output } }\ncables: [hiss.white -> out.left]\n',
    );
    expect(status).toBe(2);
    expect(stderr).toMatch(/no rhythm sequencer/);
  });
});
