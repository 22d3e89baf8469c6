/**
 * The worksheet behind the islands: takes a person's actions, asks the engine, keeps the texts and their
 * history, and hands the sound to the player.
 */

import { haveSameTexts, type PatchTexts } from '../../patch/texts.ts';
import { type Deck, factorOf } from '../pieces/deck.ts';
import { Player } from '../pieces/player.ts';
import { Store } from '../pieces/store.ts';
import type {
  EngineAnswer,
  FindingPlace,
  From,
  Host,
  HostEvent,
  Parts,
  PatchChange,
  TextsState,
} from '../protocol.ts';
import { Patching } from './along/patching.ts';
import { showBlock } from './diagram/blocks.ts';
import { Diagram } from './diagram/diagram.ts';
import { EngineLink } from './engine-link.ts';
import { download, fileName, follow, saved, unsavedTexts } from './files/saving.ts';
import { Folds } from './folds.ts';
import { focusCable, markPlace, unmarkPlaces } from './mark.ts';
import { type ChangeOutcome, changedPlace, Moves } from './moves.ts';
import { showParts } from './parts.ts';
import { firstState, type SheetState } from './sheet-state.ts';
import { Listening, listeningAt, wholeMix } from './strip/listening.ts';
import { isSameFrom, nextBar } from './strip/places.ts';
import { MOST_VERSIONS } from './versions/bank.ts';
import { Comparing } from './versions/comparing.ts';
import { type Act, Gestures } from './versions/gestures.ts';
import { noted, redone, type UndoHistory, undone } from './versions/history.ts';
import { Keeping } from './versions/keeping.ts';
import { Chapters } from './voices/chapters.ts';

export class Worksheet {
  readonly store: Store<SheetState>;
  readonly player: Player;
  readonly deck: Deck;
  readonly host: Host | undefined;
  private readonly engine: EngineLink;
  private readonly moves: Moves;
  private readonly listening: Listening;
  private readonly diagram: Diagram;
  readonly patching: Patching;
  readonly keeping: Keeping;
  private readonly gestures = new Gestures(document, () => performance.now());
  /** The undo step of each change that is on its way. */
  private readonly acts = new WeakMap<PatchChange, Act>();
  readonly chapters: Chapters;
  readonly folds: Folds;
  /** What is typed and not taken, by its place: it outlasts its field, which may be drawn again elsewhere. */
  readonly drafts = new Store<Readonly<Record<string, string | undefined>>>({});
  /** Answers to requests before this one are about outdated texts. */
  private opened = 0;
  /** The newest request that texts have come back for, and callers that wait for those of the opened. */
  private read = 0;
  private readers: (() => void)[] = [];
  /** The newest edition of the files that the host has sent. */
  private edition = 0;
  private clipWish: number | undefined;
  /** Whether saving should overwrite others' changes, which the host then keeps as a file. */
  private isOver = false;
  private isSaving = false;
  /** Whether it was asked for while it was under way. */
  private savesAgain = false;
  /** The request for another place of the song that is not heard yet, and the one for its next bars. */
  private placed: number | undefined;
  private next: number | undefined;

  constructor(files: PatchTexts, engineSource: string, host: Host | undefined) {
    this.store = new Store(firstState(files));
    this.host = host;
    this.player = new Player(
      () => this.store.put({ isPlaying: this.player.isPlaying }),
      () => this.ended(),
    );
    this.deck = {
      player: this.player,
      span: () => this.now.view?.loop,
      listen: (listener) => this.store.listen(listener),
    };
    this.listening = new Listening(this.store, this.player);
    this.setVolume(this.now.volume);
    this.engine = new EngineLink(
      engineSource,
      (answer) => this.answered(answer),
      (failure) => {
        this.store.put({ failure });
        this.noteRead(this.opened);
      },
    );
    this.folds = new Folds(files.main);
    this.chapters = new Chapters(
      this.store,
      this.player,
      (wish) => this.engine.ask(wish),
      this.folds,
    );
    this.moves = new Moves((change) =>
      this.engine.ask({ type: 'change', change, heard: this.listening.hearing() }),
    );
    this.patching = new Patching(
      this.store,
      (wish) => this.engine.ask(wish),
      () => this.listening.level(),
    );
    this.keeping = new Keeping({
      store: this.store,
      player: this.player,
      listening: this.listening,
      comparing: new Comparing(engineSource),
      arrived: () => this.caughtUp(),
      goOn: async (other, what) => {
        await this.moves.settled();
        this.take(other, what);
      },
    });
    this.opened = this.engine.ask({ type: 'open', files });
    this.diagram = new Diagram(host, files, this.folds, () => {
      this.store.put({ drawn: this.now.drawn + 1 });
      markPlace(this.now.told);
    });
    if (host !== undefined)
      follow(
        host,
        (event) => this.onHost(event),
        (isConnected) => {
          // Another host counts editions from the start.
          if (isConnected) this.edition = 0;
          this.store.put({ isConnected });
        },
      );
  }

  private get now(): SheetState {
    return this.store.now;
  }

  // Writing.

  /** Makes a change. @returns why it was refused, if it was. */
  change(change: PatchChange): Promise<ChangeOutcome> {
    // Noted now, since another gesture may have begun by the time of the answer.
    this.acts.set(change, this.gestures.act(changedPlace(change)));
    return this.moves.make(change);
  }

  undo(): Promise<void> {
    return this.step(undone, 'Undone.', 'There is nothing to undo.');
  }

  redo(): Promise<void> {
    return this.step(redone, 'Done again.', 'There is nothing to redo.');
  }

  private async step(way: typeof undone, done: string, none: string): Promise<void> {
    // A change on its way is a step too, the last one.
    await this.moves.settled();
    const to = way(this.now.history, this.now.files);
    if (to === undefined) {
      this.say(none);
      return;
    }
    this.open(to[1], to[0]);
    this.say(done);
  }

  /** Takes other texts, as a step that can be undone. */
  private take(files: PatchTexts, what: string): void {
    const { history, files: before } = this.now;
    if (haveSameTexts(files, before)) return;
    this.open(files, noted(history, before, this.gestures.alone(what)));
  }

  private open(files: PatchTexts, history: UndoHistory): void {
    this.moves.drop();
    this.store.put({ files, history });
    this.opened = this.engine.ask({ type: 'open', files });
  }

  /** Waits until all changes are made, and the texts that were opened are read. */
  private async caughtUp(): Promise<void> {
    await this.moves.settled();
    if (this.read < this.opened) await new Promise<void>((done) => this.readers.push(done));
  }

  private noteRead(id: number): void {
    this.read = id;
    if (id >= this.opened) for (const done of this.readers.splice(0)) done();
  }

  /** Makes the change that mends the shown finding, as a step that can be undone. */
  async mend(): Promise<void> {
    await this.moves.settled();
    const { mend, files } = this.now;
    // The mend was worked out for other texts, and would undo later changes.
    if (mend === undefined || !haveSameTexts(mend.of, files)) {
      this.say('Not mended: something has changed meanwhile. The mend is being worked out again.');
      return;
    }
    this.take(mend.files, 'mend');
    this.store.put({ mend: undefined });
    const made = mend.lines.flatMap(({ isNew, text }) => (isNew ? [text] : []));
    this.say(`Mended: ${made.join('; ')}. Undo takes it back.`);
  }

  /** Goes to the place of a finding. */
  seek(at: FindingPlace): void {
    this.store.put({ sought: { at } });
    if (at.type === 'cable') focusCable(at, this.folds);
  }

  /** Goes to the settings of a module that is clicked in a diagram, or chooses the voice of a block. */
  openBlock(name: string): void {
    const { view } = this.now;
    if (view?.modules.some((module) => module.name === name))
      this.seek({ type: 'module', module: name });
    else if (view?.voices.some((voice) => voice.name === name)) this.setVoice(name);
  }

  /** Goes to a module or a jack in the diagrams. */
  showInDiagram(name: string): void {
    if (!showBlock(name, this.folds)) this.say(`No diagram shows ${name}.`);
  }

  /** Whether the texts differ from those on disk. */
  get isEdited(): boolean {
    return !haveSameTexts(this.now.files, this.now.disk);
  }

  /** Whether edits would be lost with the page. */
  get isUnsaved(): boolean {
    const { files, copied } = this.now;
    return this.isEdited && (copied === undefined || !haveSameTexts(files, copied));
  }

  /**
   * Writes the texts back to their files, or downloads them where there is no host. Changes on their way
   * are waited for. If it is asked for again meanwhile, what has changed since is written too.
   * @param overwrite even if they have changed on disk.
   */
  async save(overwrite = false): Promise<void> {
    this.savesAgain = this.isSaving;
    if (this.isSaving) return;
    this.isSaving = true;
    await this.moves.settled();
    let { files } = this.now;
    await this.write(overwrite);
    while (this.savesAgain) {
      this.savesAgain = false;
      await this.moves.settled();
      if (haveSameTexts(files, this.now.files)) continue;
      ({ files } = this.now);
      await this.write(false);
    }
    this.isSaving = false;
  }

  private async write(overwrite: boolean): Promise<void> {
    const { files, disk, conflict } = this.now;
    if (conflict !== undefined) {
      this.say(
        'Not saved: the file has changed on disk. First choose which texts to keep working on.',
      );
      return;
    }
    const texts = unsavedTexts(files, disk);
    if (Object.keys(texts).length === 0) {
      this.say('There is nothing to save: the file is as it is here.');
      return;
    }
    if (this.host === undefined) {
      for (const [name, text] of Object.entries(texts)) download(name, 'text/yaml', text);
      this.store.put({ copied: files });
      this.say(`Handed out as a download: ${Object.keys(texts).map(fileName).join(', ')}.`);
      return;
    }
    const answer = await saved(
      this.host,
      this.isOver
        ? { texts, before: {}, overwrite: true }
        : { texts, before: disk.texts, overwrite },
    );
    if (answer.type === 'saved') {
      this.isOver = false;
      if (answer.edition >= this.edition) {
        this.edition = answer.edition;
        this.store.put({ disk: files, conflict: undefined });
      }
      this.store.put({ clash: undefined });
      const kept = answer.kept?.map(fileName).join(', ');
      const over = kept === undefined ? '' : ` What was on disk is kept as ${kept}.`;
      this.say(`Saved: ${answer.files.map(fileName).join(', ')}.${over}`);
    } else if (answer.type === 'conflict') this.store.put({ clash: answer.message });
    else
      this.say(`Not saved: ${answer.message} Nothing is lost here; Download hands the file out.`);
  }

  /** Leaves a file that has changed on disk as it is. */
  leave(): void {
    this.store.put({ clash: undefined });
  }

  /** Writes the patch file as a new one; the page stays with the old one. @returns why it was refused, if it was. */
  async saveAs(name: string): Promise<ChangeOutcome> {
    await this.moves.settled();
    const { files } = this.now;
    if (this.host === undefined) {
      await this.downloadText(name);
      return undefined;
    }
    if (name === fileName(files.main))
      return `${name} is the name of this patch itself: “Save” writes to it`;
    const texts = { [files.main]: files.texts[files.main] ?? '' };
    const answer = await saved(this.host, { texts, before: {}, as: name });
    if (answer.type !== 'saved') return answer.message;
    this.store.put({ copied: files });
    const written = answer.files.map(fileName).join(', ');
    this.say(`Saved as ${written}. This page stays with ${fileName(files.main)}.`);
    return undefined;
  }

  /** Downloads the patch file, with the changes that are on their way. */
  async downloadText(name = fileName(this.now.files.main)): Promise<void> {
    await this.moves.settled();
    const { files } = this.now;
    download(name, 'text/yaml', files.texts[files.main] ?? '');
    this.store.put({ copied: files });
    this.say(`Handed out as a download: ${name}.`);
  }

  async downloadClip(): Promise<void> {
    await this.moves.settled();
    this.clipWish = this.engine.ask({ type: 'clip' });
    this.say('The clip is being written.');
  }

  private onHost(event: HostEvent): void {
    if (event.type === 'files' || event.type === 'unreadable')
      // Changes on their way count as edits that may conflict with the files. All events of the host
      // wait for it, so that they stay in their order.
      void this.moves.settled().then(() => {
        if (event.type === 'files') this.onDisk(event);
        else {
          this.store.put({ unreadable: event.message });
          // What was said of an earlier change would stand beside the alert as if it were of this one.
          this.say('');
        }
      });
    else this.store.put({ isConnected: false });
  }

  private onDisk({ files, edition }: Extract<HostEvent, { type: 'files' }>): void {
    // An answer to a save may arrive before this event.
    if (edition < this.edition) return;
    this.edition = edition;
    const { disk, files: here } = this.now;
    if (this.now.unreadable !== undefined) this.say(`${fileName(files.main)} is there again.`);
    this.store.put({ disk: files, unreadable: undefined });
    // The first event, or the echo of a save.
    const isKnown = haveSameTexts(files, disk);
    // What a save came upon is no more: the file is again as it was known.
    if (isKnown) this.store.put({ clash: undefined });
    if (isKnown || haveSameTexts(files, here)) {
      if (haveSameTexts(files, here)) this.store.put({ conflict: undefined });
    } else if (haveSameTexts(here, disk)) {
      this.take(files, 'disk');
      this.say(`${fileName(files.main)} has changed on disk and was read again.`);
    } else this.store.put({ conflict: files });
  }

  /** Takes the person's choice of texts to go on with. The others are kept as a version. */
  async settle(takeDisk: boolean): Promise<void> {
    await this.moves.settled();
    const { conflict, files, versions } = this.now;
    if (conflict === undefined) return;
    if (versions.length >= MOST_VERSIONS) {
      this.say(
        'Nine versions are kept already; remove one first, so that the texts not chosen can be kept.',
      );
      return;
    }
    if (takeDisk) {
      const { heard, view } = this.now;
      if (heard !== undefined)
        this.keeping.put({
          name: 'before the file changed',
          files: heard,
          view,
          loop: wholeMix(this.now),
        });
      this.take(conflict, 'disk');
    } else
      this.keeping.put({
        name: 'from the file on disk',
        files: conflict,
        view: undefined,
        loop: undefined,
      });
    this.isOver = !takeDisk;
    this.store.put({ conflict: undefined });
    this.say(
      takeDisk
        ? 'The file from disk is here; what was here before is kept as a version.'
        : `What is here stays; the file from disk is kept as a version. Saving writes over ${fileName(files.main)}.`,
    );
  }

  // Versions.

  setEqual(isEqual: boolean): void {
    this.store.put({ isEqual });
    this.listening.level();
  }

  // Listening.

  toggle(): void {
    const { trial } = this.now;
    if (this.player.isPlaying) this.player.stop();
    else if (trial !== undefined) this.keeping.blind.hear(trial.heard);
    else this.player.play();
  }

  /** @param volume dB; the lowest value is silence. */
  setVolume(volume: number): void {
    this.player.setVolume(factorOf(volume));
    this.store.put({ volume });
  }

  setAround(isAround: boolean): void {
    this.player.setAround(isAround);
    this.store.put({ isAround });
  }

  setBars(bars: number | undefined): void {
    this.store.put({ bars });
    this.engine.ask({ type: 'length', bars, from: this.now.from });
  }

  /** Plays from another place of the song, from its beginning. */
  setFrom(from: From | undefined): void {
    this.next = undefined;
    this.store.put({ from, way: undefined });
    this.placed = this.engine.ask({ type: 'length', bars: this.now.bars, from });
  }

  /** Plays from that place, or from the start if it does already. */
  toggleFrom(from: From): void {
    this.setFrom(isSameFrom(this.now.from, from) ? undefined : from);
  }

  /** A song that is longer than the loop continues with its next bars, unless it repeats. */
  private ended(): void {
    const { view, isAround, probe } = this.now;
    if (isAround || view === undefined || !view.loop.shortened || probe !== undefined) return;
    this.setFrom({ type: 'bar', bar: nextBar(view.loop) });
    this.next = this.placed;
  }

  /** Goes to the start of the requested place, and plays if the song continues there. */
  private goOn(id: number): void {
    if (this.placed === undefined || id < this.placed) return;
    this.placed = undefined;
    this.player.seek(0);
    if (this.next === undefined) return;
    this.next = undefined;
    this.player.play();
  }

  /** Listens at a jack, or to the mix again. */
  setProbe(jack: string | undefined): void {
    this.store.put({ probe: jack });
    this.engine.ask({ type: 'probe', jack });
    if (jack === undefined) this.listening.level();
    this.say(jack === undefined ? 'Listening to the mix.' : listeningAt(jack));
  }

  setVoice(voice: string | undefined): void {
    this.chapters.choose(voice);
  }

  setKeys(hasKeys: boolean): void {
    this.store.put({ hasKeys });
  }

  say(message: string): void {
    this.store.put({ message });
  }

  // Answers of the engine.

  private answered(answer: EngineAnswer): void {
    const { id } = answer;
    this.chapters.answered(answer);
    switch (answer.type) {
      case 'state':
        this.onState(id, answer.state);
        break;
      case 'refused':
        this.moves.answered(id, answer.message);
        if (id === this.clipWish) this.say(`There is no clip: ${answer.message}.`);
        break;
      case 'sound':
        if (id >= this.opened && this.listening.take(id, answer.sound)) {
          this.moves.heard(id);
          this.store.put({ way: undefined });
          this.goOn(id);
        }
        break;
      case 'way':
        if (id >= this.opened) this.store.put({ way: answer.share });
        break;
      case 'findings':
        if (id < this.opened) break;
        this.showParts(answer.parts);
        this.store.put({ told: answer.told, mend: undefined });
        markPlace(answer.told);
        break;
      case 'mend':
        if (id >= this.opened) this.store.put({ mend: { ...answer.mend, of: this.now.files } });
        break;
      case 'charts':
        if (id >= this.opened) this.store.put({ charts: answer.charts, lack: answer.lack });
        break;
      case 'score':
        if (id < this.opened) break;
        this.store.put({ score: answer.score });
        this.showParts(answer.parts);
        break;
      case 'outline':
        if (id < this.opened) break;
        this.showParts(answer.outline.parts);
        this.diagram.show(answer.outline.figures, this.now.files);
        break;
      case 'moves':
      case 'figures':
      case 'spectra':
        // These are requested from an engine of their own.
        break;
      case 'along':
      case 'along-heard':
        this.patching.answered(answer);
        break;
      case 'clip':
        if (id !== this.clipWish) break;
        download(clipName(this.now.files.main), 'audio/wav', answer.wav as Uint8Array<ArrayBuffer>);
        this.say(`The clip is handed out as a download: ${clipName(this.now.files.main)}.`);
        break;
      case 'failed':
        this.moves.answered(id, answer.message);
        if (id === this.clipWish) this.say(`There is no clip: ${answer.message}.`);
        this.store.put({ failure: answer.message });
        this.noteRead(id);
        break;
    }
  }

  /** Puts markup into its places, and marks the finding in it again. */
  private showParts(parts: Parts): void {
    unmarkPlaces();
    showParts(parts, this.folds);
    this.patching.showTicks();
    markPlace(this.now.told);
  }

  private onState(id: number, { files, problems, view }: TextsState): void {
    if (id < this.opened) return;
    const { history, files: before, disk } = this.now;
    const change = this.moves.answered(id, undefined);
    // The first texts may come back with the values of `--set` in them.
    const { heard } = this.now;
    const isOther = view !== undefined && (heard === undefined || !haveSameTexts(files, heard));
    const isFirst = disk === before && history.past.length === 0 && change === undefined;
    this.store.put({
      files,
      problems,
      failure: undefined,
      ...(view === undefined ? {} : { view, heard: files, heardSince: id }),
      ...(isFirst ? { disk: files } : {}),
      ...(change === undefined
        ? {}
        : {
            history: noted(
              history,
              before,
              this.acts.get(change) ?? this.gestures.alone(changedPlace(change)),
            ),
          }),
    });
    this.patching.renew();
    if (isOther) this.chapters.changed();
    this.noteRead(id);
  }
}

function clipName(main: string): string {
  return `${fileName(main).replace(/\.ya?ml$/i, '')}.wav`;
}
