// Addresses behind the page's forms: what if, and sheets begun and added to.
#pragma once

#include <map>
#include <mutex>
#include <optional>
#include <string>

#include "fitwright/server/answer.h"
#include "fitwright/server/server.h"
#include "fitwright/service/what_if_desk.h"

namespace fitwright::server {

class PageRoutes {
 public:
  // `editing`: held while sheets are written; must outlive this.
  PageRoutes(const ServerOptions& options, std::mutex& editing);
  // Nothing for an address that is not one of these.
  std::optional<Answer> Ask(const std::string& path,
                            const std::multimap<std::string, std::string>& query);
  // The same of what is written to.
  std::optional<Answer> Tell(const std::string& path,
                             const std::multimap<std::string, std::string>& query,
                             const std::string& body);

 private:
  Answer Add(const std::string& body);
  Result<std::string> Learning(const service::WhatIfOf& of) const;

  ServerOptions options_;
  std::mutex& editing_;
  service::WhatIfDesk what_if_;
};

}  // namespace fitwright::server
