// How every call is made: a message of what was given, a deadline, one error.
import { fromBinary, toBinary, type DescMethod, type DescService, type Message } from '@bufbuild/protobuf';
import {
  Metadata,
  type CallOptions as GrpcOptions,
  type Client as Channel,
  type ServiceError as GrpcError,
} from '@grpc/grpc-js';
import { randomUUID } from 'node:crypto';

import { errorOfCall, ServiceError, type Sent } from './errors.js';
import { toMessage, toPlain } from './messages.js';
import { shown } from './shown.js';

/** What may be said for one call. */
export interface CallOptions {
  /** How long it may take. What connect() was given holds otherwise, and for a stream: as long as it lasts. */
  readonly deadlineSeconds?: number | undefined;
  /** Cancels it. */
  readonly signal?: AbortSignal | undefined;
}

/** What a caller may leave out of a message: everything. */
export type Request<T> = T extends readonly (infer Item)[]
  ? readonly Request<Item>[]
  : T extends object
    ? { readonly [Field in keyof T]?: Request<T[Field]> | undefined }
    : T;

/** The methods of a service as this client has them. */
export type Calls<Service> = {
  readonly [Method in keyof Service]: Service[Method] extends (
    requests: AsyncIterable<infer Asked>,
  ) => AsyncIterable<infer Answer>
    ? (
        requests: Iterable<Request<Asked>> | AsyncIterable<Request<Asked>>,
        options?: CallOptions,
      ) => AsyncGenerator<Answer, void, undefined>
    : Service[Method] extends (request: infer Asked) => Promise<infer Answer>
      ? (request: Request<Asked>, options?: CallOptions) => Promise<Answer>
      : never;
};

/** The channel that calls go over, and what still runs. */
export class Line {
  private readonly running = new Set<ClientCall>();
  closed = false;
  answered = false;

  constructor(
    readonly channel: Channel,
    readonly address: string,
    readonly secure: boolean,
    readonly deadlineSeconds: number,
  ) {}

  /** Before a call is made. */
  check(signal?: AbortSignal): void {
    if (this.closed) throw new TypeError('the client is closed');
    if (signal?.aborted)
      throw new ServiceError('CANCELLED', 'cancelled by its signal before it was sent', { cause: signal.reason });
  }

  /** The signal and close() cancel the call until it has ended. */
  watch<Call extends ClientCall>(call: Call, signal?: AbortSignal): Call {
    const cancel = () => call.cancel();
    this.running.add(call);
    signal?.addEventListener('abort', cancel);
    call.once('status', () => {
      this.running.delete(call);
      signal?.removeEventListener('abort', cancel);
    });
    return call;
  }

  close(): void {
    this.closed = true;
    for (const call of this.running) call.cancel();
    this.channel.close();
  }

  sent(signal?: AbortSignal, requestId?: string): Sent {
    return { address: this.address, secure: this.secure, closed: this.closed, answered: this.answered, signal, requestId };
  }
}

interface ClientCall {
  cancel(): void;
  once(event: 'status', listener: () => void): unknown;
}

/** The methods of one service over a channel. */
export function callsOf(service: DescService, line: Line): object {
  return Object.freeze(
    Object.fromEntries(
      service.methods.map((method) => [
        method.localName,
        method.methodKind === 'bidi_streaming'
          ? (requests: AnyIterable, options?: CallOptions) => stream(method, line, requests, options)
          : (request: unknown, options?: CallOptions) => unary(method, line, request, options),
      ]),
    ),
  );
}

type AnyIterable = Iterable<unknown> | AsyncIterable<unknown>;
type Answered = { readonly answer: Message } | { readonly error: GrpcError };

async function unary(method: DescMethod, line: Line, request: unknown, options: CallOptions = {}): Promise<unknown> {
  const { deadlineSeconds = line.deadlineSeconds, signal } = checked(options);
  const message = withRequestId(method, toMessage(method.input, request));
  line.check(signal);
  const answered = await new Promise<Answered>((resolve) => {
    line.watch(
      line.channel.makeUnaryRequest(
        pathOf(method),
        serialize(method),
        deserialize(method),
        message,
        new Metadata(),
        deadlineOf(deadlineSeconds),
        (error, answer) => resolve(error === null ? { answer: answer as Message } : { error }),
      ),
      signal,
    );
  });
  if ('error' in answered)
    throw errorOfCall(answered.error, line.sent(signal, (message as { requestId?: string }).requestId));
  line.answered = true;
  return toPlain(method.output, answered.answer);
}

/**
 * Answers as they come. Requests are taken as fast as the server takes them. Their end closes our side: the server sums
 * up and the loop ends after its last answer. Leaving the loop cancels the call. What the iterable of requests throws, or
 * something in it that is no message, cancels the call and is thrown to who reads the answers.
 */
async function* stream(
  method: DescMethod,
  line: Line,
  requests: AnyIterable,
  options: CallOptions = {},
): AsyncGenerator<unknown, void, undefined> {
  const { deadlineSeconds, signal } = checked(options);
  const source = iteratorOf(method, requests);
  line.check(signal);
  const call = line.watch(
    line.channel.makeBidiStreamRequest(
      pathOf(method),
      serialize(method),
      deserialize(method),
      new Metadata(),
      deadlineOf(deadlineSeconds),
    ),
    signal,
  );
  let over = false;
  let fault: { readonly thrown: unknown } | undefined;
  const ended = new Promise<void>((resolve) => call.once('status', () => resolve()));
  call.on('error', () => {}); // the loop below throws it

  const send = async () => {
    try {
      while (!over) {
        const next = await source.next();
        if (over) return;
        if (next.done) return void call.end();
        if (call.write(toMessage(method.input, next.value))) continue;
        await Promise.race([new Promise((resolve) => call.once('drain', resolve)), ended]);
        // A line that is never full would leave no turn for the answers.
        await new Promise((resolve) => setImmediate(resolve));
      }
    } catch (thrown) {
      fault = { thrown };
      call.cancel();
    }
  };
  void ended.then(() => {
    over = true;
  });
  void send();

  try {
    for await (const answer of call) {
      line.answered = true;
      yield toPlain(method.output, answer as Message);
    }
    if (fault !== undefined) throw fault.thrown;
  } catch (error) {
    if (fault !== undefined) throw (fault as { readonly thrown: unknown }).thrown;
    throw isGrpcError(error) ? errorOfCall(error, line.sent(signal)) : error;
  } finally {
    over = true;
    call.cancel();
    // Nobody waits for it: it may be in the middle of waiting for a reading itself.
    void (async () => source.return?.())().catch(() => {});
  }
}

function iteratorOf(method: DescMethod, requests: AnyIterable): AsyncIterator<unknown> | Iterator<unknown> {
  const given = requests as Partial<AsyncIterable<unknown> & Iterable<unknown>> | null | undefined;
  if (typeof given === 'object' && given !== null) {
    const iterator = given[Symbol.asyncIterator]?.() ?? given[Symbol.iterator]?.();
    if (iterator !== undefined) return iterator;
  }
  throw new TypeError(
    `${method.localName}: got ${shown(given)}, accepted: an iterable or async iterable of ${method.input.name}`,
  );
}

/** A write gets an id where it has none, so that sending it again makes it once. */
function withRequestId(method: DescMethod, message: Message): Message {
  if (method.input.field['requestId'] !== undefined) {
    const write = message as Message & { requestId: string };
    write.requestId ||= randomUUID();
  }
  return message;
}

export function checkedSeconds(name: string, seconds: unknown): number {
  // gRPC does not know a time farther away, and the call would never end.
  if (typeof seconds !== 'number' || !(seconds > 0 && seconds <= 1e9))
    throw new TypeError(`${name}: got ${shown(seconds)}, accepted: a number above 0, at most 1e9`);
  return seconds;
}

function checked(options: CallOptions): CallOptions {
  checkedKeys('options', options, ['deadlineSeconds', 'signal']);
  if (options.deadlineSeconds !== undefined) checkedSeconds('deadlineSeconds', options.deadlineSeconds);
  if (options.signal !== undefined && !(options.signal instanceof AbortSignal))
    throw new TypeError('signal: accepted: an AbortSignal');
  return options;
}

export function checkedKeys(name: string, given: object, accepted: readonly string[]): void {
  if (typeof given !== 'object' || given === null)
    throw new TypeError(`${name}: accepted: an object with ${accepted.join(', ')}`);
  for (const key of Object.keys(given))
    if (!accepted.includes(key))
      throw new TypeError(`${name}.${key}: no such option, accepted: ${accepted.join(', ')}`);
}

function deadlineOf(seconds: number | undefined): GrpcOptions {
  return seconds === undefined ? {} : { deadline: Date.now() + 1000 * seconds };
}

function isGrpcError(error: unknown): error is GrpcError {
  return error instanceof Error && typeof (error as Partial<GrpcError>).code === 'number' && 'details' in error;
}

const pathOf = (method: DescMethod) => `/${method.parent.typeName}/${method.name}`;
const serialize = (method: DescMethod) => (message: Message) => Buffer.from(toBinary(method.input, message));
const deserialize = (method: DescMethod) => (bytes: Buffer) => fromBinary(method.output, bytes);
