/**
 * Where the bars and steps of rhythms that follow pulses begin: the control path is played for them, as a
 * render plays it, and no further than is asked for.
 */

import type { Prepared } from '../../engine/prepared.ts';
import { Renderer } from '../../engine/renderer.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import type { Patch } from '../../patch/patch.ts';
import { scoreSource } from './score-of.ts';

/** s that are listened to at most, and s after which no further step is expected. */
const MOST = 600;
const PATIENCE = 20;

interface HeardRhythm {
  /** s at which each step began, in order. */
  readonly steps: number[];
  /** s at which each bar began first. */
  readonly bars: Map<number, number>;
}

export class HeardBars {
  private readonly rhythms = new Map<string, HeardRhythm>();
  private readonly renderer: Renderer;
  private last = 0;

  constructor(of: Prepared) {
    this.renderer = new Renderer(of.path, {
      sampleRate: USUAL_RATE,
      until: MOST,
      onStep: ({ name }, sample, bar) => {
        if (bar < 1) return;
        this.last = sample / USUAL_RATE;
        const { steps, bars } = this.rhythm(name);
        steps.push(this.last);
        if (!bars.has(bar)) bars.set(bar, this.last);
      },
    });
  }

  /**
   * Gives the start of a bar.
   * @param module the name of a rhythm that follows pulses. @param bar from 1.
   * @returns s; infinity for one that no pulse brings within the time that is listened to.
   */
  bar(module: string, bar: number): number {
    const { bars } = this.rhythm(module);
    this.listenUntil(() => bars.has(bar));
    return bars.get(bar) ?? Number.POSITIVE_INFINITY;
  }

  /** The same of a step, counted from 0 over the song and its repeats. */
  step(module: string, step: number): number {
    const { steps } = this.rhythm(module);
    this.listenUntil(() => steps.length > step);
    return steps[step] ?? Number.POSITIVE_INFINITY;
  }

  private rhythm(name: string): HeardRhythm {
    const known = this.rhythms.get(name) ?? { steps: [], bars: new Map() };
    this.rhythms.set(name, known);
    return known;
  }

  private listenUntil(isKnown: () => boolean): void {
    const { renderer } = this;
    const seconds = (): number => renderer.position / USUAL_RATE;
    while (!isKnown() && seconds() < MOST && seconds() < this.last + PATIENCE) renderer.next();
  }
}

let latest:
  | { readonly patch: Patch; readonly source: string; readonly heard: HeardBars }
  | undefined;

/** The bars of a patch; a score that has been heard before is not played again. */
export function heardBars(of: Prepared): HeardBars {
  const { patch } = of;
  if (latest?.patch === patch) return latest.heard;
  const source = scoreSource(of);
  const heard = latest?.source === source ? latest.heard : new HeardBars(of);
  latest = { patch, source, heard };
  return heard;
}
