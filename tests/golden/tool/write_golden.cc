// write_golden <folder>: answers every case of the folder's golden files anew, where the service changed on purpose.
#include <filesystem>
#include <fstream>
#include <iostream>
#include <stdexcept>

#include "contract_methods.h"
#include "golden/golden.h"
#include "rpc/server.h"

int main(int argc, char** argv) {
  using coilwright::golden::Json;
  if (argc != 2 || !std::filesystem::is_directory(argv[1])) {
    std::cerr << "usage: write_golden <folder of golden files>\n";
    return 2;
  }
  coilwright::rpc::ServerOptions options;
  options.listen = false;
  const auto server = *coilwright::rpc::Server::Start(options);
  for (const auto& entry : std::filesystem::directory_iterator(argv[1])) {
    if (entry.path().extension() != ".json") continue;
    try {
      Json file = Json::parse(std::ifstream(entry.path()));
      const auto* method = coilwright::MethodNamed(file.at("method"));
      if (method == nullptr) throw std::invalid_argument("the contract has no " + file.at("method").dump());
      for (Json& golden_case : file.at("cases"))
        golden_case = coilwright::golden::Played(server->InProcessChannel(), *method, golden_case);
      std::ofstream written(entry.path());
      written << file.dump(1) << "\n";
      if (!written.flush()) throw std::runtime_error("cannot be written");
    } catch (const std::exception& wrong) {
      std::cerr << entry.path() << ": " << wrong.what() << "\n";
      return 1;
    }
  }
}
