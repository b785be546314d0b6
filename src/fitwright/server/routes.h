// What each address answers: the use case asked, its answer put into words of HTTP. No logic of its
// own.
#pragma once

#include <condition_variable>
#include <functional>
#include <map>
#include <mutex>
#include <set>
#include <string>

#include "fitwright/server/answer.h"
#include "fitwright/server/page_routes.h"
#include "fitwright/server/server.h"
#include "fitwright/service/build_desk.h"
#include "fitwright/service/drawing_shelf.h"
#include "fitwright/service/folder_stamp.h"
#include "fitwright/service/solid_jobs.h"

namespace fitwright::server {

class Routes {
 public:
  // `cancel` ends drawings under way; must outlive this.
  Routes(const ServerOptions& options, const CancelFlag* cancel);
  // An address below /api/; 404 when there is none such.
  Answer Ask(const std::string& path, const std::multimap<std::string, std::string>& query);
  // The same of what is written to.
  Answer Tell(const std::string& path, const std::multimap<std::string, std::string>& query,
              const std::string& body);
  service::BuildDesk& desk() { return desk_; }

 private:
  Answer Parts(const std::string& unit) const;
  Answer Shop(const std::string& unit) const;
  Answer Read(const std::multimap<std::string, std::string>& query, const std::string& body);
  Answer Edit(const std::string& body);
  Answer Build(const std::multimap<std::string, std::string>& query);
  // What `make` answers, kept while the folder stays as it is; several who ask for the same wait for one making.
  Answer Kept(const std::string& key, const std::function<Answer()>& make);
  Answer Project(const std::string& unit) const;
  Answer Check() const;
  Answer Plan() const;
  Answer Report(const std::string& unit) const;
  Answer Drawing(const std::multimap<std::string, std::string>& query);
  Answer Drawings(const std::multimap<std::string, std::string>& query);
  Answer Solids(const std::multimap<std::string, std::string>& query);
  // What a drawing depends on, and which; `refused` where the sheets have faults.
  struct Drawn {
    std::string from;
    service::DrawingUse use;
  };
  Result<Drawn> FindDrawn(const std::multimap<std::string, std::string>& query,
                          Answer& refused) const;

  ServerOptions options_;
  service::DrawingShelf shelf_;
  service::JobOptions jobs_;
  service::PlanningJob planning_;
  service::BuildDesk desk_;
  std::mutex editing_;
  PageRoutes page_;
  std::mutex mutex_;
  service::FolderStamp folder_;
  std::map<std::string, Answer> kept_;
  std::set<std::string> being_made_;
  std::condition_variable made_;
};

}  // namespace fitwright::server
