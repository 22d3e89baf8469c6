// What the server answers to which requests. A request is written by hand, since browsers and `fetch` choose Host
// and Origin themselves. Names of the attacks: DNS rebinding and cross-site request forgery (common
// practice, no source); Host as in RFC 9110, 7.2.

import { type IncomingHttpHeaders, type IncomingMessage, request } from 'node:http';
import { connect } from 'node:net';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { PageServer } from '../../../src/page/host/server.ts';
import type { SaveRequest } from '../../../src/page/protocol.ts';
import type { PatchTexts } from '../../../src/patch/texts.ts';

interface Given {
  readonly status: number | undefined;
  readonly headers: IncomingHttpHeaders;
  readonly body: string;
}

let server: PageServer;
let port: number;
let path: string;
let saves: SaveRequest[];
let drawings: PatchTexts[];

beforeEach(async () => {
  saves = [];
  drawings = [];
  server = await PageServer.start(0, {
    page: () => ({ html: 'the page', policy: "default-src 'none'" }),
    greeting: () => ({ type: 'unreadable', message: 'two\nlines' }),
    save: (asked) => {
      saves.push(asked);
      return { type: 'saved', files: ['a.yaml'], edition: 1 };
    },
    draw: async (files) => {
      drawings.push(files);
      return { type: 'drawn', figures: '[]', markup: '<p>' };
    },
  });
  const url = new URL(server.url);
  port = Number(url.port);
  path = url.pathname;
});

afterEach(() => server.close());

function ask(
  method: string,
  target: string,
  headers: Record<string, string> = {},
  body: string | Buffer = '',
): Promise<Given> {
  return new Promise((resolve, reject) => {
    const asked = request(
      { host: '127.0.0.1', port, method, path: target, headers, agent: false },
      (response) => {
        let text = '';
        response.setEncoding('utf8');
        response.on('data', (piece: string) => {
          text += piece;
        });
        response.on('end', () =>
          resolve({ status: response.statusCode, headers: response.headers, body: text }),
        );
        response.on('error', reject);
      },
    );
    asked.on('error', reject);
    asked.end(body);
  });
}

const SAVE = JSON.stringify({ texts: { 'a.yaml': 'new' }, before: { 'a.yaml': 'old' } });

function post(
  headers: Record<string, string>,
  body: string | Buffer = SAVE,
  what = 'save',
): Promise<Given> {
  return ask('POST', `${path}${what}`, headers, body);
}

function own(): Record<string, string> {
  return { origin: `http://127.0.0.1:${port}`, 'content-type': 'application/json' };
}

describe('the page', () => {
  it('is given at its address, by either name of this machine', async () => {
    for (const host of [`127.0.0.1:${port}`, `localhost:${port}`])
      expect(await ask('GET', path, { host })).toMatchObject({ status: 200, body: 'the page' });
    expect(await ask('HEAD', path)).toMatchObject({ status: 200, body: '' });
  });

  it('has an address that cannot be guessed, another each time', async () => {
    // 128 bits in letters of 6: 22.
    expect(path).toMatch(/^\/[\w-]{22}\/$/);
    const other = await PageServer.start(0, {} as never);
    expect(new URL(other.url).pathname).not.toBe(path);
    await other.close();
  });

  it('is kept nowhere, framed by nobody, and named to nobody', async () => {
    for (const target of [path, '/']) {
      const { headers } = await ask('GET', target);
      expect(headers).toMatchObject({
        'cache-control': 'no-store',
        'x-content-type-options': 'nosniff',
        'referrer-policy': 'no-referrer',
        'cross-origin-resource-policy': 'same-origin',
        'cross-origin-opener-policy': 'same-origin',
      });
      expect(headers['content-security-policy']).toContain("frame-ancestors 'none'");
      expect(headers['access-control-allow-origin']).toBeUndefined();
    }
  });

  it('is not given under another name, which is how a foreign page would come here', async () => {
    const hosts = ['evil.example', `evil.example:${port}`, '127.0.0.1', `127.0.0.1:${port + 1}`];
    for (const host of [...hosts, `localhost.:${port}`, `[::1]:${port}`])
      expect(await ask('GET', path, { host }), host).toMatchObject({ status: 404, body: '' });
  });
});

describe('a request of old, without a Host', () => {
  it('gets nothing', async () => {
    // HTTP/1.0 needs none (RFC 1945).
    const text = await new Promise<string>((resolve) => {
      let all = '';
      const socket = connect(port, '127.0.0.1', () => socket.write(`GET ${path} HTTP/1.0\r\n\r\n`));
      socket.on('data', (piece) => {
        all += piece;
      });
      socket.on('end', () => resolve(all));
    });
    expect(text).toMatch(/^HTTP\/1\.1 404 /);
    expect(text).not.toContain('the page');
  });
});

describe('anything else', () => {
  it('is not there, and says nothing', async () => {
    const token = path.slice(1, -1);
    const targets = [
      '/',
      '',
      '/favicon.ico',
      `/${token}`,
      `${path}..`,
      `${path}../`,
      `${path}../package.json`,
      `${path}%2e%2e/package.json`,
      `${path}..%2fpackage.json`,
      `/.${path}`,
      `/x/..${path}`,
      `/${path}`,
      `${path}/`,
      `${path}events/`,
      `${path}events?x`,
      `${path}page`,
      `${path}save`,
      `${path}draw`,
      `${path.slice(0, -2)}/`,
      `/${token.toLowerCase()}x/`,
      `http://evil.example${path}`,
      '/%00/',
    ].filter((target) => target !== path);
    for (const target of targets) {
      const given = await ask('GET', target);
      expect([given.status, given.body], target).toEqual([404, '']);
    }
    for (const method of ['POST', 'PUT', 'DELETE', 'OPTIONS', 'TRACE', 'PATCH']) {
      const given = await ask(method, path, own());
      expect([given.status, given.body], method).toEqual([404, '']);
    }
  });

  it('tells a wrong token nothing, however near', async () => {
    const token = path.slice(1, -1);
    const near = `${token.slice(0, -1)}${token.endsWith('A') ? 'B' : 'A'}`;
    expect(await ask('GET', `/${near}/`)).toMatchObject({ status: 404, body: '' });
    expect(await ask('GET', `/${near}/events`)).toMatchObject({ status: 404, body: '' });
  });
});

describe('saving', () => {
  it('is done for the page itself', async () => {
    const given = await post(own());
    expect([given.status, JSON.parse(given.body)]).toEqual([
      200,
      { type: 'saved', files: ['a.yaml'], edition: 1 },
    ]);
    expect(saves).toEqual([
      { texts: { 'a.yaml': 'new' }, before: { 'a.yaml': 'old' }, overwrite: false },
    ]);
  });

  it('is done for no other page, and for none that is not told', async () => {
    const { origin = '', ...rest } = own();
    const origins = ['http://evil.example', 'null', `https://127.0.0.1:${port}`, `${origin}0`];
    for (const other of [...origins, `http://localhost:${port}`])
      expect(await post({ ...own(), origin: other }), other).toMatchObject({
        status: 404,
        body: '',
      });
    expect(await post(rest)).toMatchObject({ status: 404, body: '' });
    expect(
      await post({ ...own(), host: 'evil.example', origin: 'http://evil.example' }),
    ).toMatchObject({ status: 404, body: '' });
    // What a form of another page can send without being asked first (Fetch, 2.2.2).
    for (const type of ['text/plain', 'application/x-www-form-urlencoded', 'multipart/form-data'])
      expect(await post({ ...own(), 'content-type': type })).toMatchObject({ status: 404 });
    expect(saves).toEqual([]);
  });

  it.each([
    'null',
    '[]',
    '{}',
    '{"texts":{},"before":{}}',
    '{"texts":{"a.yaml":1},"before":{}}',
    '{"texts":["x"],"before":{}}',
    '{"texts":{"a.yaml":"\\ud800"},"before":{}}',
    '{"texts":{"a.yaml":"x"},"before":{},"as":3}',
    'not JSON',
    '',
  ])('refuses what is no request: %s', async (body) => {
    expect((await post(own(), body)).status).toBe(400);
    expect(saves).toEqual([]);
  });

  it('refuses what is no text', async () => {
    expect((await post(own(), Buffer.from([0x22, 0xff, 0x22]))).status).toBe(400);
  });

  it('stops reading what is too long', async () => {
    // The limit is 8 MiB; the connection may be closed on what is still being sent.
    const long = `{"texts":{"a.yaml":"${'x'.repeat(33 * 1024 * 1024)}"},"before":{}}`;
    const status = await post(own(), long).then(
      (given) => given.status,
      (error: NodeJS.ErrnoException) => error.code,
    );
    expect([413, 'ECONNRESET', 'EPIPE']).toContain(status);
    expect(saves).toEqual([]);
    expect(await ask('GET', path)).toMatchObject({ status: 200 });
  });
});

describe('drawing', () => {
  const FILES = { main: 'a.yaml', rack: 'r.yaml', set: ['x.y=1'], texts: { 'a.yaml': 'x' } };

  it('is done for the page itself', async () => {
    const given = await post(own(), JSON.stringify(FILES), 'draw');
    expect([given.status, JSON.parse(given.body)]).toEqual([
      200,
      { type: 'drawn', figures: '[]', markup: '<p>' },
    ]);
    expect(drawings).toEqual([FILES]);
  });

  it('is done for no other page, nor for what is no text', async () => {
    const foreign = { ...own(), origin: 'http://evil.example' };
    expect((await post(foreign, JSON.stringify(FILES), 'draw')).status).toBe(404);
    const wrong: readonly Record<string, unknown>[] = [
      { main: 1 },
      { rack: null },
      { set: 'x' },
      { set: [1] },
      { texts: [] },
      { texts: { 'a.yaml': 1 } },
    ];
    for (const part of wrong) {
      const body = JSON.stringify({ ...FILES, ...part });
      expect((await post(own(), body, 'draw')).status, body).toBe(400);
    }
    expect((await post(own(), 'null', 'draw')).status).toBe(400);
    expect(drawings).toEqual([]);
  });
});

describe('the stream of events', () => {
  it('greets, goes on, and ends with the server', async () => {
    const text = new Promise<string>((resolve) => {
      request({ host: '127.0.0.1', port, path: `${path}events`, agent: false }, (response) => {
        expect(response.headers['content-type']).toBe('text/event-stream');
        let all = '';
        response.on('data', (piece) => {
          const first = all === '';
          all += piece;
          if (!first) return;
          server.send({ type: 'unreadable', message: 'more' });
          void server.close();
        });
        response.on('end', () => resolve(all));
      }).end();
    });
    const data = [...(await text).matchAll(/^data: (.*)$/gm)].map(([, one = '']) =>
      JSON.parse(one),
    );
    expect(data).toEqual([
      { type: 'unreadable', message: 'two\nlines' },
      { type: 'unreadable', message: 'more' },
      { type: 'end' },
    ]);
    server = await PageServer.start(0, {} as never);
  });

  it('lets go of a page that does not read, and of more pages than it tells', async () => {
    const opened = (): Promise<IncomingMessage> =>
      new Promise((resolve, reject) => {
        const asked = request(
          { host: '127.0.0.1', port, path: `${path}events`, agent: false },
          resolve,
        );
        asked.on('error', reject);
        asked.end();
      });
    const silent = await opened();
    const ended = new Promise((resolve) => silent.once('error', resolve));
    silent.pause();
    const before = process.memoryUsage().rss;
    // A hundred times the texts of a large patch: 200 MB.
    const message = 'x'.repeat(2e6);
    for (let sent = 0; sent < 100; sent++) {
      server.send({ type: 'unreadable', message });
      await new Promise((resume) => setImmediate(resume));
    }
    // 32 MB wait at most; the rest is what is not yet collected.
    expect(process.memoryUsage().rss - before).toBeLessThan(150e6);
    silent.resume();
    await ended;
    const pages = await Promise.all(Array.from({ length: 40 }, opened));
    expect(pages.filter(({ statusCode }) => statusCode === 200).length).toBe(32);
    expect(pages.filter(({ statusCode }) => statusCode === 503).length).toBe(8);
    for (const page of pages) page.destroy();
  });
});
