// The service behind TLS, with an authority made for this test.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { once } from 'node:events';
import { connect as dial, type AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, describe, test } from 'node:test';
import { createServer, type TlsOptions } from 'node:tls';

import { connect, type ConnectOptions } from 'coilwright';

import { refused } from './check.js';
import { Server } from './server.js';

let folder: string;
const file = (name: string) => join(folder, name);
const openssl = (...words: string[]) => execFileSync('openssl', words, { stdio: 'pipe' });

/** A key, and what `more` asks for with it: a certificate by itself, or a request for one. */
function keyed(name: string, ...more: string[]): void {
  const curve = ['-newkey', 'ec', '-pkeyopt', 'ec_paramgen_curve:prime256v1'];
  openssl('req', ...curve, '-nodes', '-subj', `/CN=${name}`, '-keyout', file(`${name}.key`), ...more);
}

function authority(name: string): void {
  keyed(name, '-x509', '-days', '2', '-out', file(`${name}.pem`));
}

function certificate(name: string, by: string, subject: string): void {
  keyed(name, '-out', file(`${name}.csr`));
  writeFileSync(file('extensions'), `subjectAltName=${subject}\n`);
  const authorised = ['-CA', file(`${by}.pem`), '-CAkey', file(`${by}.key`), '-CAcreateserial'];
  const asked = ['-in', file(`${name}.csr`), '-extfile', file('extensions'), '-days', '2'];
  openssl('x509', '-req', ...asked, ...authorised, '-out', file(`${name}.pem`));
}

/** The address of a TLS proxy in front of a live server. */
async function secured(options: TlsOptions = {}, name = 'server'): Promise<string> {
  const server = await Server.start();
  const proxy = createServer(
    {
      ALPNProtocols: ['h2'],
      cert: readFileSync(file(`${name}.pem`)),
      key: readFileSync(file(`${name}.key`)),
      ...options,
    },
    (socket) => {
      const inner = dial(server.port, '127.0.0.1');
      inner.on('error', () => socket.destroy());
      socket.on('error', () => inner.destroy());
      socket.pipe(inner).pipe(socket);
    },
  );
  proxy.on('tlsClientError', () => {});
  proxy.listen(0, '127.0.0.1');
  await once(proxy, 'listening');
  after(() => proxy.close());
  return `127.0.0.1:${(proxy.address() as AddressInfo).port}`;
}

/** Whether a client with these options gets an answer; throws what it gets otherwise. */
async function asks(address: string, options: ConnectOptions): Promise<number | undefined> {
  const client = connect(address, options);
  try {
    return (await client.testLimit.getTestLimits({ rated_volts: 400 })).withstand_ac?.test_volts;
  } finally {
    client.close();
  }
}

describe('TLS', { concurrency: true }, () => {
  before(() => {
    folder = mkdtempSync(join(tmpdir(), 'coilwright-'));
    authority('authority');
    authority('stranger');
    certificate('server', 'authority', 'IP:127.0.0.1');
    certificate('elsewhere', 'authority', 'DNS:winding.harbour-lane.example');
    certificate('bench', 'authority', 'DNS:bench');
    certificate('intruder', 'stranger', 'DNS:bench');
  });
  after(() => rmSync(folder, { recursive: true }));

  test('the server is known by its authority, as a path, as bytes and as text', async () => {
    const address = await secured();
    assert.equal(await asks(address, { ca: file('authority.pem') }), 1800);
    assert.equal(await asks(address, { ca: readFileSync(file('authority.pem')) }), 1800);
    assert.equal(await asks(address, { ca: readFileSync(file('authority.pem'), 'utf8') }), 1800);
  });

  test('another authority or another name is refused, with a hint', async () => {
    const address = await secured();
    assert.match(
      (await refused(asks(address, { ca: file('stranger.pem') }), 'UNAVAILABLE')).message,
      /server's certificate of this ca/,
    );
    const elsewhere = await secured({}, 'elsewhere');
    assert.match(
      (await refused(asks(elsewhere, { ca: file('authority.pem') }), 'UNAVAILABLE')).message,
      /for this name/,
    );
  });

  test('plain text to a server with TLS is refused, with a hint', async () => {
    assert.match(
      (await refused(asks(await secured(), {}), 'UNAVAILABLE')).message,
      /does the server want TLS\? give ca/,
    );
  });

  test('where the server wants to know who calls, only our certificate opens', async () => {
    const address = await secured({
      requestCert: true,
      rejectUnauthorized: true,
      ca: readFileSync(file('authority.pem')),
    });
    const ca = file('authority.pem');
    assert.equal(await asks(address, { ca, certificate: file('bench.pem'), key: file('bench.key') }), 1800);
    await refused(asks(address, { ca, certificate: file('intruder.pem'), key: file('intruder.key') }), 'UNAVAILABLE');
    const without = await refused(asks(address, { ca }), 'UNAVAILABLE');
    assert.match(without.message, /certificate/);
  });

  test('what is no certificate is told before anything is sent', () => {
    const to = (options: object) => () => connect('127.0.0.1:1', options).close();
    const ca = file('authority.pem');
    assert.throws(to({ ca: file('authority.key') }), /^TypeError: ca: not a certificate in PEM/);
    assert.throws(to({ ca: Buffer.from('nonsense') }), /^TypeError: ca: not a certificate in PEM/);
    assert.throws(to({ ca: file('nowhere.pem') }), { code: 'ENOENT' });
    assert.throws(to({ ca: 5 }), /^TypeError: ca: accepted: a path, or the bytes of a PEM file/);
    assert.throws(
      to({ ca, certificate: file('bench.pem') }),
      /^TypeError: certificate and key: got one of them, accepted: both or none/,
    );
    assert.throws(
      to({ certificate: file('bench.pem'), key: file('bench.key') }),
      /^TypeError: ca: missing beside certificate and key/,
    );
    assert.throws(
      to({ ca, certificate: file('bench.pem'), key: file('intruder.key') }),
      /^TypeError: certificate and key: /,
    );
    assert.throws(
      to({ ca, certificate: file('bench.pem'), key: Buffer.from('nonsense') }),
      /^TypeError: certificate and key: /,
    );
  });
});
