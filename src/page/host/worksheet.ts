/**
 * The page that `listen` serves, kept up to date with the files. Block diagrams take longer to lay out
 * than all else together: a page that is requested before has empty places for them, and requests them itself.
 */

import { blockFigures } from '../../output/diagram/figures.ts';
import { diagramPlaces } from '../../output/sheet/diagrams.ts';
import { type Body, outlineBody } from '../../output/sheet/outline.ts';
import { outlineOf } from '../../output/sheet/sheet.ts';
import type { Patch } from '../../patch/patch.ts';
import type { PatchTexts } from '../../patch/texts.ts';
import type { DrawAnswer, HostEvent, SaveAnswer, SaveRequest } from '../protocol.ts';
import { figuresAsJson } from '../worker/outline.ts';
import { readFiles } from '../worker/reading.ts';
import type { Bundles } from './bundles.ts';
import { type ServedPage, servedPage } from './page.ts';
import { save } from './saving.ts';
import type { Served } from './server.ts';

/** Draws figures, as `DiagramThread` does. */
export type Draw = (figures: string) => Promise<string>;

/** The text in the place of the findings until the check has run, so that nothing moves when they come. */
const CHECKING = 'The check is under way.';
const WAITING = 'The check waits for a file that can be taken as a patch.';

export class ServedWorksheet implements Served {
  private readonly bundles: Bundles;
  private readonly drawFigures: Draw;
  private readonly tell: (event: HostEvent) => void;
  private files: PatchTexts;
  /** Increases with every change of the files. */
  private edition = 0;
  private patch: Patch | undefined;
  /** Why the files cannot be read, if they cannot. */
  private lost: string | undefined;
  /** The last diagram of the files, and what it shows. */
  private drawn = { figures: '', markup: '' };
  private isDrawing = false;
  private written: ServedPage | undefined;

  /**
   * @param patch undefined if the texts are not a valid patch.
   * @param tell is called with events for the open pages.
   */
  constructor(
    bundles: Bundles,
    files: PatchTexts,
    patch: Patch | undefined,
    draw: Draw,
    tell: (event: HostEvent) => void,
  ) {
    this.bundles = bundles;
    this.files = files;
    this.patch = patch;
    this.drawFigures = draw;
    this.tell = tell;
  }

  /** Takes what the files hold now. */
  take(files: PatchTexts, patch: Patch | undefined): void {
    this.files = files;
    this.edition++;
    this.patch = patch;
    this.lost = undefined;
    this.written = undefined;
    this.tell(this.greeting());
    void this.prepare();
  }

  /** Keeps the last texts, since the files cannot be read. */
  lose(message: string): void {
    this.lost = message;
    this.tell(this.greeting());
  }

  page(): ServedPage {
    this.written ??= servedPage(this.files, this.patch, this.parts(), this.bundles);
    return this.written;
  }

  greeting(): HostEvent {
    if (this.lost !== undefined) return { type: 'unreadable', message: this.lost };
    return { type: 'files', files: this.files, edition: this.edition };
  }

  /** Writes the files, and takes the written texts over before the disk is looked at again. */
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
      this.written = undefined;
    }
    return { ...outcome, edition: this.edition };
  }

  /** Draws the block diagrams of texts that a page has. */
  async draw(files: PatchTexts): Promise<DrawAnswer> {
    const { legible } = readFiles(files);
    if (legible === undefined)
      return { type: 'refused', message: 'These texts are not a patch that could be drawn.' };
    const figures = figuresAsJson(legible);
    return { type: 'drawn', figures, markup: await this.drawFigures(figures) };
  }

  /** Draws for pages that are requested later, until the drawings match the files. */
  async prepare(): Promise<void> {
    if (this.isDrawing) return;
    this.isDrawing = true;
    for (let { patch } = this; patch !== undefined; { patch } = this) {
      const figures = figuresAsJson(patch);
      if (figures === this.drawn.figures) break;
      this.drawn = { figures, markup: await this.drawFigures(figures) };
      this.written = undefined;
    }
    this.isDrawing = false;
  }

  private parts(): Body {
    const { patch, drawn } = this;
    if (patch === undefined) return { summary: `<p>${WAITING}</p>` };
    const isDrawn = drawn.figures === figuresAsJson(patch);
    return {
      ...outlineBody(outlineOf(patch)),
      summary: `<p>${CHECKING}</p>`,
      diagram: isDrawn ? drawn.markup : diagramPlaces(blockFigures(patch)),
    };
  }
}
