// What each address answers: the use case asked, its answer put into words of HTTP. No logic of its
// own.
#pragma once

#include <map>
#include <string>

#include "fitwright/server/server.h"
#include "fitwright/service/drawing_shelf.h"

namespace fitwright::server {

struct Answer {
  int status = 200;
  std::string type;
  std::string body;
};

// fitwright-errors/1 with the code's status.
Answer AnswerOf(const Error& error);
Answer AnswerOf(const Error& error, int status);

class Routes {
 public:
  // `cancel` ends drawings under way; must outlive this.
  Routes(const ServerOptions& options, const CancelFlag* cancel);
  // An address below /api/; 404 when there is none such.
  Answer Ask(const std::string& path, const std::multimap<std::string, std::string>& query);

 private:
  Answer Project(const std::string& unit) const;
  Answer Check() const;
  Answer Plan() const;
  Answer Report(const std::string& unit) const;
  Answer Drawing(const std::multimap<std::string, std::string>& query);

  ServerOptions options_;
  service::DrawingShelf shelf_;
};

}  // namespace fitwright::server
