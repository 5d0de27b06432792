#pragma once

#include "google/protobuf/arena.h"
#include "grpcpp/support/message_allocator.h"

namespace coilwright::rpc {

// Request and response of one call on one arena: messages that nest are freed in one go. Stateless; one per method.
template <typename Request, typename Response>
class ArenaAllocator : public grpc::MessageAllocator<Request, Response> {
 public:
  grpc::MessageHolder<Request, Response>* AllocateMessages() override { return new Holder; }

 private:
  class Holder : public grpc::MessageHolder<Request, Response> {
   public:
    Holder() : arena_(block_, sizeof block_) {
      this->set_request(google::protobuf::Arena::CreateMessage<Request>(&arena_));
      this->set_response(google::protobuf::Arena::CreateMessage<Response>(&arena_));
    }
    void Release() override { delete this; }

   private:
    // Most calls fit, so that holder and messages are one allocation.
    alignas(8) char block_[4096];
    google::protobuf::Arena arena_;
  };
};

}  // namespace coilwright::rpc
