/**
 * The page that `listen` serves, kept to what the files hold. Block diagrams take longer to lay out
 * than all else together, so they follow once a page has opened.
 */

import { blockFigures } from '../../output/block-diagram-figures.ts';
import { escaped } from '../../output/markup.ts';
import { outlineOf } from '../../output/sheet.ts';
import { type Body, diagramBody, outlineBody } from '../../output/sheet-page.ts';
import type { Patch } from '../../patch/patch.ts';
import type { Files, HostEvent, SaveAnswer, SaveRequest } from '../protocol.ts';
import type { Bundles } from './bundles.ts';
import { type ServedPage, servedPage } from './page.ts';
import { save } from './saving.ts';
import type { Served } from './server.ts';

/** A page that has just opened has its own engine to start. */
const HEAD_START_MS = 300;
const DRAWING = '<p class="quiet">The block diagram is being drawn.</p>';

export class Worksheet implements Served {
  private readonly bundles: Bundles;
  private readonly tell: (event: HostEvent) => void;
  private files: Files;
  /** Goes up with every change of the files. */
  private edition = 0;
  private patch: Patch | undefined;
  /** Why the files cannot be read, if so. */
  private lost: string | undefined;
  /** The last diagram, and what it shows. */
  private drawn = { figures: '', markup: '' };
  /** What follows from all this, once it was asked for. */
  private parts: Body | undefined;
  private written: ServedPage | undefined;
  private drawing = false;
  private wanted = false;

  /**
   * @param patch undefined if the texts are none.
   * @param tell is called with what open pages have to know.
   */
  constructor(
    bundles: Bundles,
    files: Files,
    patch: Patch | undefined,
    tell: (event: HostEvent) => void,
  ) {
    this.bundles = bundles;
    this.files = files;
    this.patch = patch;
    this.tell = tell;
  }

  /** Takes what the files hold now. */
  take(files: Files, patch: Patch | undefined): void {
    this.files = files;
    this.edition++;
    this.patch = patch;
    this.lost = undefined;
    this.renew();
    this.tell(this.event());
    if (this.wanted) void this.draw();
  }

  /** Keeps what there is, since the files cannot be read. */
  lose(message: string): void {
    this.lost = message;
    this.tell(this.event());
  }

  page(): ServedPage {
    this.written ??= servedPage(this.files, this.patch, this.partsNow(), this.bundles);
    return this.written;
  }

  greeting(): HostEvent {
    this.wanted = true;
    setTimeout(() => void this.draw(), HEAD_START_MS).unref();
    return this.event();
  }

  /** Writes, and knows what it has written before the disk is looked at again. */
  save(request: SaveRequest): SaveAnswer {
    const outcome = save(request, this.files);
    if (outcome.type !== 'saved') return outcome;
    const { texts } = this.files;
    const written = outcome.files
      .filter((name) => Object.hasOwn(texts, name))
      .map((name) => [name, request.texts[name] as string]);
    if (written.length > 0) {
      this.files = { ...this.files, texts: { ...texts, ...Object.fromEntries(written) } };
      this.edition++;
      this.renew();
    }
    return { ...outcome, edition: this.edition };
  }

  private event(): HostEvent {
    if (this.lost !== undefined) return { type: 'unreadable', message: this.lost };
    return { type: 'files', files: this.files, parts: this.partsNow(), edition: this.edition };
  }

  private partsNow(): Body {
    const { patch, drawn } = this;
    this.parts ??=
      patch === undefined
        ? {}
        : {
            ...outlineBody(outlineOf(patch)),
            diagram: drawn.figures === figuresOf(patch) ? drawn.markup : DRAWING,
          };
    return this.parts;
  }

  private renew(): void {
    this.parts = undefined;
    this.written = undefined;
  }

  /** Draws until what is drawn is what the files hold. */
  private async draw(): Promise<void> {
    if (this.drawing) return;
    this.drawing = true;
    for (let { patch } = this; patch !== undefined; { patch } = this) {
      const figures = figuresOf(patch);
      if (figures === this.drawn.figures) break;
      this.drawn = { figures, markup: await drawn(patch) };
      this.renew();
      if (patch === this.patch) this.tell(this.event());
    }
    this.drawing = false;
  }
}

/** A diagram that cannot be laid out is no reason to hear nothing. */
async function drawn(patch: Patch): Promise<string> {
  try {
    return await diagramBody(patch);
  } catch (error) {
    const message = error instanceof Error ? error.message : String(error);
    return `<p>The block diagram could not be drawn: ${escaped(message)}</p>`;
  }
}

/** What a patch's diagrams show, as a text to compare: settings are not in it. */
function figuresOf(patch: Patch): string {
  return JSON.stringify(blockFigures(patch));
}
