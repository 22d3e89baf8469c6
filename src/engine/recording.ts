/**
 * A recording of the part of a patch that a change does not reach: it is played once, and the volts that it
 * sends to the other part are kept. The other part then plays alone, fed with these, and gives the same samples
 * as the whole patch, since each net carries the very same numbers. The recording goes on when more of it is
 * wanted, such as for a longer tail.
 */

import type { Net } from '../electrical/nets.ts';
import { type JackRef, jackName, type Patch } from '../patch/patch.ts';
import { type Prepared, prepared } from './prepared.ts';
import { BLOCK, type Feed, type Part, Renderer } from './renderer.ts';

/** Samples that are kept at most, 8 bytes each; more of them would crowd other things out. */
const MOST_SAMPLES = 24_000_000;

export interface RecordingOptions {
  /** Hz. */
  readonly sampleRate: number;
  /** Of the music, s. */
  readonly seconds: number;
  /** Jacks whose volts are wanted besides what the other part needs. */
  readonly wanted?: readonly JackRef[];
  /** What feeds it, where it does not stand by itself. */
  readonly feeds?: readonly Feed[];
  /** As for a renderer. */
  readonly passing?: boolean;
}

export class Recording {
  /** The patch that it is of, and the modules that are in it. */
  readonly of: Prepared;
  readonly modules: ReadonlySet<string>;
  readonly seconds: number;
  /** Frames so far. */
  frames = 0;

  private readonly renderer: Renderer;
  /** By the jack that stands for the net, its place among the buffers. */
  private readonly index: ReadonlyMap<string, number>;
  private readonly tapes: readonly Tape[];

  /**
   * @param of a checked patch with one output module.
   * @param modules those that stay as they are; see `unchanged`.
   */
  constructor(of: Patch | Prepared, modules: ReadonlySet<string>, options: RecordingOptions) {
    const { sampleRate, seconds, wanted = [], feeds = [], passing = true } = options;
    this.of = prepared(of);
    this.modules = modules;
    this.seconds = seconds;
    const sent = sentBy(this.of, modules, wanted);
    this.index = new Map(sent.map((jack, index) => [jackName(jack), index]));
    this.renderer = new Renderer(this.of, {
      sampleRate,
      probes: sent,
      part: { runs: modules, feeds },
      passing,
      until: seconds,
    });
    this.tapes = this.renderer.probes.map((volts) => new Tape(volts));
  }

  /** Tells whether it is small enough to be kept in memory. */
  static isSmall(
    of: Patch | Prepared,
    modules: ReadonlySet<string>,
    { sampleRate, seconds, wanted = [] }: RecordingOptions,
  ): boolean {
    return sentBy(prepared(of), modules, wanted).length * seconds * sampleRate <= MOST_SAMPLES;
  }

  /**
   * Gives the other part of a patch in which all modules of the recording are the same.
   * @returns undefined if it wants a wire that has not been kept.
   */
  partOf(of: Patch | Prepared, wanted: readonly JackRef[] = []): Part | undefined {
    return partFed(of, [this], wanted);
  }

  /**
   * Gives the volts of a net from a frame on, a multiple of {@link BLOCK}.
   * @returns undefined if they have not been kept.
   */
  feed(jack: JackRef, from: number): Feed | undefined {
    const index = this.index.get(jackName(jack));
    if (index === undefined) return undefined;
    const tape = this.tapes[index] as Tape;
    const first = from / BLOCK;
    let block = first;
    const fill = (volts: Float64Array): boolean => {
      while (this.frames <= block * BLOCK) this.playOn();
      const isFilled = tape.read(block, volts) || (block === first && tape.hold(block, volts));
      block++;
      return isFilled;
    };
    return { jack, fill };
  }

  /** Plays the next block. */
  playOn(): void {
    this.renderer.next();
    for (const tape of this.tapes) tape.take();
    this.frames += BLOCK;
  }
}

/**
 * Gives the part of a patch that is in none of the recordings, fed by them. All of their modules are the same
 * in it.
 * @param from the frame that it begins at, as for a part.
 * @returns undefined if it wants a wire that has not been kept.
 */
export function partFed(
  of: Patch | Prepared,
  recordings: readonly Recording[],
  wanted: readonly JackRef[] = [],
  from = 0,
): Part | undefined {
  const all = prepared(of);
  const kept = new Set(recordings.flatMap(({ modules }) => [...modules]));
  const feeds: Feed[] = [];
  for (const jack of sentBy(all, kept, wanted)) {
    const recording = recordings.find(({ modules }) => modules.has(jack.module));
    const feed = recording?.feed(jack, from);
    if (feed === undefined) return undefined;
    feeds.push(feed);
  }
  const names = all.patch.modules.map(({ name }) => name);
  return { runs: new Set(names.filter((name) => !kept.has(name))), feeds, from };
}

/** Samples of a stretch of tape: it grows by these. */
const STRETCH = 256 * BLOCK;

/** The volts of a net, of which only the blocks that move are kept: most voices are silent most of the time. */
class Tape {
  private readonly volts: Float64Array;
  private stretch = new Float64Array(0);
  /** Samples of the stretch that are kept. */
  private used = 0;
  /** Each where it lies in a stretch; undefined for one that goes on as the one before ended. */
  private readonly blocks: (Float64Array | undefined)[] = [];
  private last = Number.NaN;

  /** @param volts the latest block, filled again and again. */
  constructor(volts: Float64Array) {
    this.volts = volts;
  }

  /** Keeps the latest block. */
  take(): void {
    const { volts, last } = this;
    let held = 0;
    // 0 and -0 are not the same bits.
    while (held < BLOCK && volts[held] === last) held++;
    if (held === BLOCK && (last !== 0 || volts.every((volt) => Object.is(volt, last)))) {
      this.blocks.push(undefined);
      return;
    }
    if (this.used === this.stretch.length) {
      this.stretch = new Float64Array(STRETCH);
      this.used = 0;
    }
    // Made once here, since it is read for each change of the other part.
    const block = this.stretch.subarray(this.used, this.used + BLOCK);
    block.set(volts);
    this.blocks.push(block);
    this.used += BLOCK;
    this.last = volts[BLOCK - 1] as number;
  }

  /** Fills `volts` with a block. @returns false if that goes on as the one before ended. */
  read(index: number, volts: Float64Array): boolean {
    const block = this.blocks[index];
    if (block === undefined) return false;
    volts.set(block);
    return true;
  }

  /** Fills `volts` with what the blocks before this one ended at. @returns whether there are any. */
  hold(index: number, volts: Float64Array): boolean {
    for (let before = index - 1; before >= 0; before--) {
      const block = this.blocks[before];
      if (block === undefined) continue;
      volts.fill(block[BLOCK - 1] as number);
      return true;
    }
    return false;
  }
}

/**
 * The nets that the kept modules drive and others read, or somebody wants to hear: a jack that stands
 * for each.
 */
function sentBy(of: Prepared, kept: ReadonlySet<string>, wanted: readonly JackRef[]): JackRef[] {
  const { nets, at } = of.netsWith(wanted);
  const heard = new Set(wanted.map((ref) => at(ref)));
  const isSent = (net: Net): boolean =>
    heard.has(net) || net.inputs.some(({ module }) => !kept.has(module.name));
  return nets.flatMap((net) => {
    const [first] = net.outputs;
    if (first === undefined || !kept.has(first.module.name) || !isSent(net)) return [];
    return [{ module: first.module.name, jack: first.jack.name }];
  });
}
