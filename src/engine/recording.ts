/**
 * The part of a patch that stays the same while something else in it is changed, played once and kept:
 * the volts that it sends to the other part. That one then plays alone, fed with these, and gives the
 * same samples as the whole patch, since each net carries the very same numbers. What is kept is played
 * on when more of it is wanted, such as by a longer tail.
 */

import type { Net } from '../electrical/nets.ts';
import { type JackRef, jackName, type Patch } from '../patch/patch.ts';
import { edgesOf } from '../timing/edges.ts';
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
  private readonly kept: Float64Array[];

  /**
   * @param of a checked patch with one output module.
   * @param modules those that stay as they are; see `unchanged`.
   */
  constructor(of: Patch | Prepared, modules: ReadonlySet<string>, options: RecordingOptions) {
    const { sampleRate, seconds, wanted = [], passing = true } = options;
    this.of = prepared(of);
    const { seed } = this.of.patch;
    this.modules = modules;
    this.seconds = seconds;
    const sent = sentBy(this.of, modules, wanted);
    this.index = new Map(sent.map((jack, index) => [jackName(jack), index]));
    this.renderer = new Renderer(this.of, {
      sampleRate,
      probes: sent,
      part: { runs: modules, feeds: [] },
      passing,
      edgesOf: (module) => edgesOf(module, { sampleRate, seed, until: seconds }),
    });
    const room = Math.ceil((seconds + 1) * sampleRate);
    this.kept = sent.map(() => new Float64Array(room));
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
    const { modules } = this;
    const all = prepared(of);
    const feeds: Feed[] = [];
    for (const jack of sentBy(all, modules, wanted)) {
      const index = this.index.get(jackName(jack));
      if (index === undefined) return undefined;
      let frames = 0;
      const fill = (volts: Float64Array): void => {
        volts.set(this.upTo(frames + BLOCK, index).subarray(frames, frames + BLOCK));
        frames += BLOCK;
      };
      feeds.push({ jack, fill });
    }
    const names = all.patch.modules.map(({ name }) => name);
    return { runs: new Set(names.filter((name) => !modules.has(name))), feeds };
  }

  /** The volts of a net, at least `count` of them. */
  private upTo(count: number, index: number): Float64Array {
    while (this.frames < count) this.playOn();
    return this.kept[index] as Float64Array;
  }

  private playOn(): void {
    this.renderer.next();
    this.renderer.probes.forEach((volts, index) => {
      let kept = this.kept[index] as Float64Array;
      if (this.frames + BLOCK > kept.length) {
        const longer = new Float64Array(Math.ceil(kept.length * GROWTH) + BLOCK);
        longer.set(kept);
        this.kept[index] = kept = longer;
      }
      kept.set(volts, this.frames);
    });
    this.frames += BLOCK;
  }
}

/** What a recording grows by. */
const GROWTH = 1.25;

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
