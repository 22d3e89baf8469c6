/**
 * Serves the page on this machine alone. Every address starts with a random token, so that another
 * program or page cannot guess it; a request under another host name than this machine's (a page
 * whose name was made to point here) gets nothing, and neither does a post from another page. An
 * unknown address gets an empty 404, which reveals nothing.
 *
 * Source: RFC 9110, 7.2 (Host); RFC 6454 (Origin); HTML Living Standard, 9.2 (server-sent events).
 */

import { createHash, randomBytes, timingSafeEqual } from 'node:crypto';
import type * as Http from 'node:http';
import type { IncomingMessage, Server, ServerResponse } from 'node:http';
import { createRequire } from 'node:module';
import type { PatchTexts } from '../../patch/texts.ts';
import type { DrawAnswer, HostEvent, SaveAnswer, SaveRequest } from '../protocol.ts';
import { sentFiles } from './files.ts';
import { HOST, type ServedPage } from './page.ts';
import { saveRequest } from './saving.ts';

const ADDRESS = '127.0.0.1';
/** 128 bits. */
const TOKEN_BYTES = 16;
/** What a page may send, in bytes: texts twice, with a few recordings among them. */
const MOST_BODY = 32 * 1024 * 1024;
/** Bytes that may wait for a page that does not read; one that reads is only a moment behind. */
const MOST_WAITING = MOST_BODY;
/** The most pages that listen at the same time. */
const MOST_LISTENERS = 32;

export interface Served {
  /** The page as it is now. */
  readonly page: () => ServedPage;
  /** The first event for a page that begins to listen. */
  readonly greeting: () => HostEvent;
  readonly save: (request: SaveRequest) => SaveAnswer;
  readonly draw: (files: PatchTexts) => Promise<DrawAnswer>;
}

export class PageServer {
  readonly url: string;
  private readonly server: Server;
  private readonly served: Served;
  private readonly token: string;
  private readonly hosts: ReadonlySet<string>;
  private readonly listeners = new Set<ServerResponse>();

  private constructor(server: Server, port: number, served: Served) {
    this.server = server;
    this.served = served;
    this.token = randomBytes(TOKEN_BYTES).toString('base64url');
    this.hosts = new Set([`${ADDRESS}:${port}`, `localhost:${port}`]);
    this.url = `http://${ADDRESS}:${port}/${this.token}/`;
    server.on('request', (request, response) => this.answer(request, response));
  }

  /**
   * Starts to serve.
   * @param port 0 for any free port.
   * @throws the system's error if the port is not free.
   */
  static async start(port: number, served: Served): Promise<PageServer> {
    // Loaded here, since all commands would otherwise start with it.
    const { createServer } = createRequire(import.meta.url)('node:http') as typeof Http;
    const server = createServer();
    const taken = await new Promise<number>((resolve, reject) => {
      server.once('error', reject);
      server.listen(port, ADDRESS, () => {
        const address = server.address();
        resolve(typeof address === 'object' && address !== null ? address.port : port);
      });
    });
    return new PageServer(server, taken, served);
  }

  /** Sends an event to every page. */
  send(event: HostEvent): void {
    for (const listener of this.listeners) {
      listener.write(written(event));
      // It connects again, and is greeted with the state at that time.
      if (listener.writableLength > MOST_WAITING) listener.destroy();
    }
  }

  /** Tells the pages that the host ends, and stops. */
  close(): Promise<void> {
    this.send({ type: 'end' });
    for (const listener of this.listeners) listener.end();
    return new Promise((resolve) => {
      this.server.close(() => resolve());
      this.server.closeIdleConnections();
      // A page that still reads has this long.
      setTimeout(() => this.server.closeAllConnections(), 200).unref();
    });
  }

  private answer(request: IncomingMessage, response: ServerResponse): void {
    for (const [name, value] of HEADERS) response.setHeader(name, value);
    const path = this.pathOf(request);
    const asked = `${request.method} ${path}`;
    if (asked === 'GET ' || asked === 'HEAD ') this.show(response);
    else if (asked === `GET ${HOST.events}`) this.listen(response);
    else if (asked === `POST ${HOST.save}` && this.isOwn(request))
      this.take(request, response, saveRequest, (asked) => this.served.save(asked));
    else if (asked === `POST ${HOST.draw}` && this.isOwn(request))
      this.take(request, response, sentFiles, (files) => this.served.draw(files));
    else nothing(response);
  }

  /** The path after the token; undefined for a request that is not meant for this page. */
  private pathOf({ headers, url = '' }: IncomingMessage): string | undefined {
    if (headers.host === undefined || !this.hosts.has(headers.host)) return undefined;
    const [, token, path] = /^\/([^/]*)\/([^/]*)$/.exec(url) ?? [];
    return token !== undefined && isSame(token, this.token) ? path : undefined;
  }

  /** Whether a post comes from the page, as JSON: another page could send that only after a preflight request. */
  private isOwn({ headers }: IncomingMessage): boolean {
    const type = headers['content-type']?.split(';')[0]?.trim().toLowerCase();
    return headers.origin === `http://${headers.host}` && type === 'application/json';
  }

  private show(response: ServerResponse): void {
    const { html, policy } = this.served.page();
    response.setHeader('Content-Type', 'text/html; charset=utf-8');
    response.setHeader('Content-Security-Policy', `${policy}; frame-ancestors 'none'`);
    response.end(html);
  }

  private listen(response: ServerResponse): void {
    if (this.listeners.size >= MOST_LISTENERS) {
      response.statusCode = 503;
      response.end();
      return;
    }
    response.setHeader('Content-Type', 'text/event-stream');
    response.write(`retry: 1000\n\n${written(this.served.greeting())}`);
    this.listeners.add(response);
    response.once('close', () => this.listeners.delete(response));
  }

  /**
   * Takes what a page posts.
   * @param read returns undefined if the body is not such a request.
   */
  private take<R>(
    request: IncomingMessage,
    response: ServerResponse,
    read: (value: unknown) => R | undefined,
    answerTo: (asked: R) => Posted | Promise<Posted>,
  ): void {
    const pieces: Buffer[] = [];
    let length = 0;
    request.on('data', (piece: Buffer) => {
      length += piece.length;
      if (length <= MOST_BODY) pieces.push(piece);
      else if (!response.headersSent) {
        pieces.length = 0;
        response.setHeader('Connection', 'close');
        reply(response, 413, { type: 'refused', message: 'The texts are too long.' });
        response.once('finish', () => request.destroy());
      }
    });
    request.once('end', async () => {
      if (response.headersSent) return;
      const asked = read(parsed(Buffer.concat(pieces)));
      if (asked === undefined)
        reply(response, 400, { type: 'refused', message: 'This is not a request of this page.' });
      else {
        const answer = await answerTo(asked);
        reply(response, STATUS[answer.type], answer);
      }
    });
  }
}

/** The answer to a post. */
type Posted = SaveAnswer | DrawAnswer;

const STATUS: { readonly [T in Posted['type']]: number } = {
  saved: 200,
  drawn: 200,
  conflict: 409,
  refused: 422,
};

const HEADERS: readonly (readonly [name: string, value: string])[] = [
  ['Content-Security-Policy', "default-src 'none'; frame-ancestors 'none'"],
  ['Cache-Control', 'no-store'],
  ['X-Content-Type-Options', 'nosniff'],
  ['Referrer-Policy', 'no-referrer'],
  ['Cross-Origin-Opener-Policy', 'same-origin'],
  ['Cross-Origin-Resource-Policy', 'same-origin'],
];

function nothing(response: ServerResponse): void {
  response.statusCode = 404;
  response.end();
}

function reply(response: ServerResponse, status: number, answer: Posted): void {
  response.statusCode = status;
  response.setHeader('Content-Type', 'application/json');
  response.end(JSON.stringify(answer));
}

/** Takes the same time wherever the two differ. */
function isSame(one: string, other: string): boolean {
  const hash = (text: string): Buffer => createHash('sha256').update(text).digest();
  return timingSafeEqual(hash(one), hash(other));
}

/** JSON has no line break of its own, so an event's data is one line. */
function written(event: HostEvent): string {
  return `data: ${JSON.stringify(event)}\n\n`;
}

function parsed(body: Buffer): unknown {
  try {
    return JSON.parse(new TextDecoder('utf-8', { fatal: true }).decode(body));
  } catch {
    return undefined;
  }
}
