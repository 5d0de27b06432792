// Eyes for the thread sanitizer, linked into its build only. It knows a lock by the call that takes it or by the
// atomics it is made of, and the packaged gRPC and Abseil, built without the sanitizer, show it neither: an int under
// an absl::Mutex is reported as a race. These functions stand before the packaged ones of the same name (the libraries
// call each other through the dynamic linker), call them, and tell the sanitizer what they order:
//   - what is done under a mutex happens before it is next taken;
//   - what is done before an operation of a call is started happens before its tag comes out of the completion queue;
//   - what is done before a holder of a server call lets go of it happens before its OnDone. The count of holders is
//     inline in gRPC's header, so the sanitizer sees the holders of our binary let go, but not the library's: where
//     that one is the last (a cancelled call), it is the library that read the others' counts.
//   - what is done before a holder of a shared absl::Status lets go of it happens before the last one frees it.
// Nothing is said that the documentation of Abseil, of gRPC's core and of its reactors does not promise.
#include <dlfcn.h>

#include <cstdint>
#include <cstdio>
#include <cstdlib>

#include "absl/status/status.h"
#include "absl/synchronization/mutex.h"
#include "absl/time/time.h"
#include "grpc/grpc.h"
#include "grpcpp/support/server_callback.h"

extern "C" {
void __tsan_acquire(void* address);
void __tsan_release(void* address);
}

namespace {

// The packaged function that ours stands before. Another release of Abseil has other symbols; then nothing runs at all.
template <typename Function>
Function* Packaged(const char* symbol) {
  void* found = dlsym(RTLD_NEXT, symbol);
  if (found == nullptr) {
    std::fprintf(stderr, "tests/tsan/locks.cc: the packaged libraries have no %s\n", symbol);
    std::abort();
  }
  return reinterpret_cast<Function*>(found);
}

}  // namespace

namespace absl {
ABSL_NAMESPACE_BEGIN

void Mutex::Lock() {
  static auto* const packaged = Packaged<void(Mutex*)>("_ZN4absl7debian35Mutex4LockEv");
  packaged(this);
  __tsan_acquire(this);
}

bool Mutex::TryLock() {
  static auto* const packaged = Packaged<bool(Mutex*)>("_ZN4absl7debian35Mutex7TryLockEv");
  const bool locked = packaged(this);
  if (locked) __tsan_acquire(this);
  return locked;
}

void Mutex::Unlock() {
  static auto* const packaged = Packaged<void(Mutex*)>("_ZN4absl7debian35Mutex6UnlockEv");
  __tsan_release(this);
  packaged(this);
}

void CondVar::Wait(Mutex* mutex) {
  static auto* const packaged = Packaged<void(CondVar*, Mutex*)>("_ZN4absl7debian37CondVar4WaitEPNS0_5MutexE");
  __tsan_release(mutex);
  packaged(this, mutex);
  __tsan_acquire(mutex);
}

bool CondVar::WaitWithTimeout(Mutex* mutex, Duration timeout) {
  static auto* const packaged = Packaged<bool(CondVar*, Mutex*, Duration)>(
      "_ZN4absl7debian37CondVar15WaitWithTimeoutEPNS0_5MutexENS0_8DurationE");
  __tsan_release(mutex);
  const bool expired = packaged(this, mutex, timeout);
  __tsan_acquire(mutex);
  return expired;
}

bool CondVar::WaitWithDeadline(Mutex* mutex, Time deadline) {
  static auto* const packaged =
      Packaged<bool(CondVar*, Mutex*, Time)>("_ZN4absl7debian37CondVar16WaitWithDeadlineEPNS0_5MutexENS0_4TimeE");
  __tsan_release(mutex);
  const bool expired = packaged(this, mutex, deadline);
  __tsan_acquire(mutex);
  return expired;
}

// The decrement orders both ways (acquire and release) and frees with the last.
void Status::UnrefNonInlined(uintptr_t rep) {
  static auto* const packaged = Packaged<void(uintptr_t)>("_ZN4absl7debian36Status15UnrefNonInlinedEm");
  __tsan_release(reinterpret_cast<void*>(rep));
  __tsan_acquire(reinterpret_cast<void*>(rep));
  packaged(rep);
}

ABSL_NAMESPACE_END
}  // namespace absl

grpc_call_error grpc_call_start_batch(grpc_call* call, const grpc_op* ops, size_t nops, void* tag, void* reserved) {
  static auto* const packaged = Packaged<decltype(grpc_call_start_batch)>("grpc_call_start_batch");
  __tsan_release(tag);
  return packaged(call, ops, nops, tag, reserved);
}

grpc_event grpc_completion_queue_next(grpc_completion_queue* queue, gpr_timespec deadline, void* reserved) {
  static auto* const packaged = Packaged<decltype(grpc_completion_queue_next)>("grpc_completion_queue_next");
  const grpc_event event = packaged(queue, deadline, reserved);
  if (event.type == GRPC_OP_COMPLETE) __tsan_acquire(event.tag);
  return event;
}

namespace grpc::internal {

// Called once, by whoever was the last holder.
void ServerCallbackCall::ScheduleOnDone(bool inline_ondone) {
  static auto* const packaged =
      Packaged<void(ServerCallbackCall*, bool)>("_ZN4grpc8internal18ServerCallbackCall14ScheduleOnDoneEb");
  __tsan_acquire(&callbacks_outstanding_);
  packaged(this, inline_ondone);
}

}  // namespace grpc::internal
