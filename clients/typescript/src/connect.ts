import { Client as Channel, credentials, Metadata, type ChannelOptions } from '@grpc/grpc-js';
import { BinaryReader, BinaryWriter } from '@bufbuild/protobuf/wire';
import { X509Certificate } from 'node:crypto';
import { readFileSync } from 'node:fs';

import { attributes } from '../generated/attributes.js';
import type { Services } from '../generated/contract.js';
import { callsOf, checkedKeys, checkedSeconds, Line } from './calls.js';
import { serviceNamed } from './contract.js';
import { errorOfCall } from './errors.js';
import { shown } from './shown.js';

/** A path, or what stands in the file. */
export type Pem = string | Uint8Array;

/** How to reach a server. */
export interface ConnectOptions {
  /** Certificates by which the server is known; plain text without. */
  readonly ca?: Pem | undefined;
  /** Our own, where the server wants to know who calls; needs `key`. */
  readonly certificate?: Pem | undefined;
  readonly key?: Pem | undefined;
  /** Of calls that name none; 30 where absent. Streams last until they end. */
  readonly deadlineSeconds?: number | undefined;
}

/** A connection to a server, with one attribute for each service. */
export interface Client extends Services {
  /**
   * Whether the server takes calls: all of it, or one service by its full name, "coilwright.v1.WireService".
   * ServiceError NOT_FOUND for a service that it does not have.
   */
  isServing(service?: string, options?: { readonly deadlineSeconds?: number | undefined }): Promise<boolean>;
  /** Ends what still runs. A program that does not call it may not end. */
  close(): void;
}

const channelOptions: ChannelOptions = {
  // Calls that may be repeated are, while the server cannot be reached; a stream never is.
  'grpc.service_config': readFileSync(new URL('../service_config.json', import.meta.url), 'utf8'),
  // A server that comes back is met by the next attempt.
  'grpc.initial_reconnect_backoff_ms': 200,
  'grpc.max_reconnect_backoff_ms': 5000,
  // A stream on a dead line ends within a minute. The server takes a ping every 20 s and hangs up on more.
  'grpc.keepalive_time_ms': 30000,
  'grpc.keepalive_timeout_ms': 10000,
  // A service config from a name server would replace ours.
  'grpc.service_config_disable_resolution': 1,
};

/** A client of the server at HOST:PORT. Nothing is sent before the first call. */
export function connect(address = '127.0.0.1:7360', options: ConnectOptions = {}): Client {
  const [, host = '', port = '0'] = /^([^\s:[\]/]+|\[[0-9a-fA-F:.]+\]):(\d{1,5})$/.exec(String(address)) ?? [];
  if (Number(port) < 1 || Number(port) > 65535)
    throw new TypeError(`address: got ${shown(address)}, accepted: HOST:PORT with a port from 1 to 65535`);
  checkedKeys('options', options, ['ca', 'certificate', 'key', 'deadlineSeconds']);
  const deadlineSeconds = checkedSeconds('deadlineSeconds', options.deadlineSeconds ?? 30);
  if (options.ca === undefined && !/^(127\.[0-9.]+|localhost|\[::1\])$/.test(host))
    process.emitWarning(`plain text to ${address}: anybody on the way can read and change what is said; give ca`);
  const channel = new Channel(address, credentialsOf(options), channelOptions);
  const line = new Line(channel, address, options.ca !== undefined, deadlineSeconds);

  const services: Record<string, object> = {};
  for (const [attribute, name] of Object.entries(attributes)) services[attribute] = callsOf(serviceNamed(name), line);
  return Object.freeze({
    ...(services as unknown as Services),
    isServing: async (service = '', given: { readonly deadlineSeconds?: number | undefined } = {}) => {
      if (typeof service !== 'string' || !/^[\w.]{0,255}$/.test(service))
        throw new TypeError(`service: got ${shown(service)}, accepted: the full name of a service, or "" for the server`);
      checkedKeys('options', given, ['deadlineSeconds']);
      return isServing(line, service, checkedSeconds('deadlineSeconds', given.deadlineSeconds ?? 5));
    },
    close: () => line.close(),
  });
}

function credentialsOf({ ca, certificate, key }: ConnectOptions) {
  if ((certificate === undefined) !== (key === undefined))
    throw new TypeError('certificate and key: got one of them, accepted: both or none');
  if (ca === undefined) {
    if (certificate !== undefined)
      throw new TypeError(
        'ca: missing beside certificate and key, accepted: the certificates by which the server is known',
      );
    return credentials.createInsecure();
  }
  const known = certificateOf('ca', ca);
  if (certificate === undefined || key === undefined) return credentials.createSsl(known);
  try {
    return credentials.createSsl(known, pemOf('key', key), certificateOf('certificate', certificate));
  } catch (error) {
    throw error instanceof TypeError ? error : new TypeError(`certificate and key: ${(error as Error).message}`);
  }
}

// A certificate that is none would be passed over, and the first call would fail without saying why.
function certificateOf(name: string, given: Pem): Buffer {
  const pem = pemOf(name, given);
  try {
    new X509Certificate(pem);
    return pem;
  } catch (error) {
    throw new TypeError(`${name}: not a certificate in PEM: ${(error as Error).message}`);
  }
}

function pemOf(name: string, given: Pem): Buffer {
  if (given instanceof Uint8Array) return Buffer.from(given);
  if (typeof given !== 'string') throw new TypeError(`${name}: accepted: a path, or the bytes of a PEM file`);
  return given.includes('-----BEGIN ') ? Buffer.from(given) : readFileSync(given);
}

// The two messages of the health service, a text and a number, are no part of the contract.
async function isServing(line: Line, service: string, deadlineSeconds: number): Promise<boolean> {
  const serving = 1;
  line.check();
  const status = await new Promise<number>((resolve, reject) => {
    line.watch(
      line.channel.makeUnaryRequest(
        '/grpc.health.v1.Health/Check',
        (name: string) => Buffer.from(new BinaryWriter().uint32(10).string(name).finish()),
        (bytes) => {
          const reader = new BinaryReader(bytes);
          return bytes.length > 0 && reader.uint32() === 8 ? reader.int32() : 0;
        },
        service,
        new Metadata(),
        { deadline: Date.now() + 1000 * deadlineSeconds },
        (error, value) => (error === null ? resolve(value ?? 0) : reject(errorOfCall(error, line.sent()))),
      ),
    );
  });
  return status === serving;
}
