/**
 * Works out how kept versions differ from the first, and their measures. It has its own engine, so that
 * moving a setting meanwhile never has to wait for it.
 */

import type { PatchTexts } from '../../../patch/texts.ts';
import type {
  EngineAnswer,
  MoveView,
  SpectraView,
  SpectrumOf,
  VersionFigures,
} from '../../protocol.ts';
import { EngineLink, type Wish } from '../engine-link.ts';
import type { AssembledLoop } from '../strip/assembly.ts';

export class Comparing {
  private readonly source: string;
  private link: EngineLink | undefined;
  private hasFailed = false;
  private readonly waiting = new Map<number, (answer: EngineAnswer | undefined) => void>();

  /** @param source script of the engine, which is started when there is something to compare. */
  constructor(source: string) {
    this.source = source;
  }

  /** The moves that make one into the other; undefined where they cannot be found. */
  async moves(first: PatchTexts, other: PatchTexts): Promise<readonly MoveView[] | undefined> {
    const answer = await this.ask({ type: 'moves', first, other });
    return answer?.type === 'moves' ? answer.moves : undefined;
  }

  /** The measures of a loop that is whole. */
  async figures(
    { channels }: AssembledLoop,
    sampleRate: number,
  ): Promise<VersionFigures | undefined> {
    const answer = await this.ask({ type: 'figures', channels, sampleRate });
    return answer?.type === 'figures' ? answer.figures : undefined;
  }

  /** Spectra over one another; undefined where they cannot be drawn. */
  async spectra(of: readonly SpectrumOf[], isEqual: boolean): Promise<SpectraView | undefined> {
    const answer = await this.ask({ type: 'spectra', of, isEqual });
    return answer?.type === 'spectra' ? answer.spectra : undefined;
  }

  private ask(wish: Wish): Promise<EngineAnswer | undefined> {
    if (this.hasFailed) return Promise.resolve(undefined);
    this.link ??= new EngineLink(
      this.source,
      (answer) => this.answered(answer.id, answer),
      () => this.fail(),
    );
    const id = this.link.ask(wish);
    return new Promise((done) => this.waiting.set(id, done));
  }

  private answered(id: number, answer: EngineAnswer | undefined): void {
    this.waiting.get(id)?.(answer);
    this.waiting.delete(id);
  }

  /** Ends the waiting for answers that cannot come. */
  private fail(): void {
    this.hasFailed = true;
    for (const id of [...this.waiting.keys()]) this.answered(id, undefined);
  }
}
