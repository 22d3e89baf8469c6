// What is worked out from a patch is worked out once, and passed on: counted where it is worked out.

import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import * as levels from '../../src/electrical/levels.ts';
import * as nets from '../../src/electrical/nets.ts';
import * as control from '../../src/engine/control-path.ts';
import type { Happening } from '../../src/engine/happening.ts';
import { KeptLoop, Loop, takeRound } from '../../src/engine/loop.ts';
import * as plans from '../../src/engine/plan.ts';
import { Prepared, prepared } from '../../src/engine/prepared.ts';
import { render } from '../../src/engine/render.ts';
import { Renderer } from '../../src/engine/renderer.ts';
import { stemsOf } from '../../src/engine/stems.ts';
import { Take } from '../../src/engine/take.ts';
import { sentEdges, trace } from '../../src/engine/trace.ts';
import { findingsIn } from '../../src/findings/check.ts';
import { contextFrom, contextOf, listenerFor } from '../../src/findings/context.ts';
import { outsetOf } from '../../src/findings/outset.ts';
import { surveyOf } from '../../src/findings/survey.ts';
import { blanksOf } from '../../src/findings/survey-blanks.ts';
import { voiceChannels, voicePath } from '../../src/fit/path.ts';
import { renderClip } from '../../src/output/clip.ts';
import { playStroke } from '../../src/output/lesson/play.ts';
import { stagesOf } from '../../src/output/lesson/stages.ts';
import { NotesListener } from '../../src/output/score/heard-notes.ts';
import { AS_USUAL } from '../../src/output/score/midi-choices.ts';
import { midiFile } from '../../src/output/score/midi-file.ts';
import { scoreOf } from '../../src/output/score/score-of.ts';
import { sheetOf } from '../../src/output/sheet/sheet.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { patchFrom, SHIPPED, shipped } from '../patch-of.ts';

vi.mock('../../src/electrical/levels.ts', { spy: true });
vi.mock('../../src/electrical/nets.ts', { spy: true });
vi.mock('../../src/engine/plan.ts', { spy: true });
vi.mock('../../src/engine/control-path.ts', { spy: true });
vi.mock('../../src/engine/renderer.ts', { spy: true });

const SONG = { unit: 'song' } as const;
const RATE = 48_000;

/** How often something was worked out of a patch itself, not of one made from it. */
function countOf(spied: unknown, patch: Patch): number {
  return vi.mocked(spied as (of: Patch) => unknown).mock.calls.filter(([of]) => of === patch)
    .length;
}

function worked(patch: Patch): { nets: number; plans: number; control: number; played: number } {
  const played = vi.mocked(Renderer).mock.calls.filter(([of]) => prepared(of).patch === patch);
  return {
    nets: countOf(nets.netlist, patch),
    plans: countOf(plans.plan, patch),
    control: countOf(control.controlPath, patch),
    played: played.length,
  };
}

function isSame(one: Float64Array, other: Float64Array | undefined): boolean {
  return (
    one.length === other?.length && one.every((value, index) => Object.is(value, other[index]))
  );
}

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'prepared-'));
  vi.clearAllMocks();
});
afterEach(() => rmSync(folder, { recursive: true }));

const KIT = patchFrom(shipped('two-bar-kit.yaml'));
const HAT = patchFrom(shipped('closed-hat.yaml'));
/** Its rhythm follows the pulses of a clock, and a pitch follows a row. */
const FOLLOWED = patchFrom(shipped('followed-clock.yaml'));

describe('a patch is worked out once', () => {
  it('for a sheet, which plays it once', async () => {
    const patch = { ...KIT };
    await sheetOf(patch, { length: SONG });
    expect(worked(patch)).toEqual({ nets: 1, plans: 1, control: 1, played: 1 });
  });

  it('for a sheet of a rhythm that follows pulses, whose bars are heard', async () => {
    const patch = { ...FOLLOWED };
    await sheetOf(patch, { length: SONG });
    expect(worked(patch)).toEqual({ nets: 1, plans: 1, control: 1, played: 1 });
  });

  it('for a clip of a rhythm that follows pulses, and the edges that it sends', async () => {
    const patch = { ...FOLLOWED };
    const all = new Prepared(patch);
    await renderClip(all, {
      ...{ path: join(folder, 'followed.wav'), sampleRate: RATE, depth: '16', length: SONG },
      ...{ tail: { unit: 'silence' }, loop: false, stems: false, taps: [] },
    });
    expect([...sentEdges(all, { sampleRate: RATE, seconds: 1 })].length).toBeGreaterThan(0);
    expect(worked(patch)).toEqual({ nets: 1, plans: 1, control: 1, played: 1 });
  });

  it('for a score, the notes of a MIDI file and the pulses that they follow, which are of one play', () => {
    const all = new Prepared({ ...FOLLOWED });
    const seconds = 2;
    const listener = new NotesListener(all, seconds);
    scoreOf(all, {
      ...{ sampleRate: RATE, seconds, curves: true, listener },
      onHappening: (one) => listener.onHappening(one),
    });
    const { bytes, strokes, rows } = midiFile(all, seconds, AS_USUAL, listener.finish());
    expect(worked(all.path.patch).played).toBe(1);
    expect([...strokes, ...rows].every(({ notes }) => notes > 0)).toBe(true);
    expect(rows.length).toBeGreaterThan(0);
    // Alone it is heard once, too, and is the same.
    expect(midiFile(all, seconds).bytes).toEqual(bytes);
    expect(worked(all.path.patch).played).toBe(2);
  });

  it('for a render with its stems that the check listens to', async () => {
    const patch = { ...KIT };
    const all = new Prepared(patch);
    const outset = outsetOf(all);
    const listener = listenerFor(outset);
    await renderClip(all, {
      path: join(folder, 'kit.wav'),
      sampleRate: RATE,
      depth: '16',
      length: SONG,
      tail: { unit: 'silence' },
      loop: false,
      stems: true,
      taps: [],
      listener,
    });
    findingsIn(contextFrom(outset, listener.heard(patch)));
    expect(worked(patch)).toEqual({ nets: 1, plans: 1, control: 0, played: 1 });
  });

  it('for a check, which plays it once', () => {
    const patch = { ...KIT };
    findingsIn(contextOf(patch));
    expect(worked(patch)).toEqual({ nets: 1, plans: 1, control: 0, played: 1 });
  });

  it('for the traces of its control path, as of a score and of a table beside it', () => {
    const patch = { ...KIT };
    const all = new Prepared(patch);
    for (let n = 0; n < 2; n++) [...trace(all, { sampleRate: RATE, seconds: 0.1 })];
    expect(worked(patch)).toEqual({ nets: 1, plans: 0, control: 1, played: 0 });
    // Its own nets, and those with the leads by which it is watched.
    expect(worked(all.path.patch)).toEqual({ nets: 2, plans: 1, control: 0, played: 2 });
  });

  it('for a score and all that happens, which are of one play', () => {
    const all = new Prepared({ ...KIT });
    const options = { sampleRate: RATE, seconds: 1 };
    const happened: Happening[] = [];
    scoreOf(all, { ...options, curves: false, onHappening: (one) => happened.push(one) });
    expect(worked(all.path.patch)).toMatchObject({ plans: 1, played: 1 });
    expect(happened).toEqual([...trace(all, options)]);
  });

  it('for the voices that a fit looks for, and the way of each', () => {
    const patch = { ...KIT };
    const channels = voiceChannels(patch);
    expect(channels.length).toBeGreaterThan(1);
    for (const channel of channels) voicePath(patch, channel);
    expect(worked(patch)).toMatchObject({ nets: 1 });
  });

  it('for a survey and its blanks', () => {
    const patch = { ...HAT };
    const all = new Prepared(patch);
    blanksOf(all, surveyOf(all));
    expect(worked(patch)).toEqual({ nets: 1, plans: 0, control: 0, played: 0 });
    const steps = vi.mocked(levels.patchLevels).mock.calls.filter(([of]) => of === patch);
    expect(steps.length).toBe(new Set(steps.map(([, tolerance]) => tolerance)).size);
  });

  it('for the stages of a lesson, which share it', () => {
    const patch = { ...HAT };
    const stages = stagesOf(patch).filter(({ of }) => of.patch === patch);
    expect(stages.length).toBeGreaterThan(3);
    for (const { of, jack, strokes } of stages)
      playStroke(of, jack, strokes, { sampleRate: 8000, bars: 1 });
    expect(worked(patch)).toEqual({ nets: 1, plans: 1, control: 0, played: stages.length });
  });

  it('for a loop, kept or not', () => {
    const [one, other] = [{ ...KIT }, { ...KIT }];
    new Loop(one, { sampleRate: RATE, length: SONG });
    expect(worked(one)).toEqual({ nets: 1, plans: 1, control: 0, played: 2 });
    render(other, { loop: true });
    expect(worked(other)).toEqual({ nets: 1, plans: 1, control: 0, played: 1 });
  });
});

describe('what is prepared gives what the patch gives', () => {
  it('for jacks without a plug too', () => {
    const hat = patchFrom(shipped('closed-hat.yaml'));
    const bare = hat.modules.flatMap(({ name, jacks }) =>
      jacks
        .map((jack) => ({ module: name, jack: jack.name }))
        .filter((jack) => nets.netlist(hat).at(jack) === undefined),
    );
    expect(bare.length).toBeGreaterThan(0);
    const all = new Prepared(hat);
    const options = {
      sampleRate: RATE,
      length: { unit: 'seconds', value: 0.3 },
      tail: { unit: 'seconds', value: 0 },
    } as const;
    // The plan without them has been made by then.
    new Take(all, options);
    const play = (of: Patch | Prepared) => render(of, { ...options, probes: bare });
    const other = play(hat).probes;
    expect(play(all).probes.every((volts, index) => isSame(volts, other[index]))).toBe(true);
  });

  // A melody, one voice, rings of oscillators, and one whose song is longer than a check listens to.
  it.each(['bass-line.yaml', 'closed-hat.yaml', 'metal-hats.yaml', 'kit-of-eight.yaml'])(
    'the sheet of %s finds what a check finds',
    async (name) => {
      const patch = patchFrom(shipped(name));
      const { findings } = await sheetOf(patch, { length: SONG });
      expect(findings).toEqual(findingsIn(contextOf(patch)));
      // A clip shorter than what a check listens to leaves that to a rehearsal.
      const short = await sheetOf(patch, { length: { unit: 'seconds', value: 0.2 } });
      expect(short.findings).toEqual(findings);
    },
  );
});

describe('a loop that is kept', () => {
  it.each(SHIPPED)('is the one that is given block by block: %s', (name) => {
    const all = new Prepared(patchFrom(shipped(name)));
    const stems = stemsOf(all);
    const options = { sampleRate: 8000, length: { unit: 'bars', value: 1 }, stems } as const;
    const kept = new KeptLoop(takeRound(all, options));
    while (!kept.isWhole) kept.playOn();
    const loop = new Loop(all, options);
    const signals = [...loop.channels, ...loop.stems.flat()];
    const whole = [...kept.channels, ...kept.stems.flat()];
    for (let given = loop.read(); given > 0; given = loop.read()) {
      const from = loop.frames - given;
      signals.forEach((block, index) => {
        const kept = whole[index]?.subarray(from, from + given);
        expect(isSame(block.subarray(0, given), kept)).toBe(true);
      });
    }
    expect(loop.frames).toBe(kept.musicFrames);
    expect(loop.cut).toBe(kept.cut);
  });
});
