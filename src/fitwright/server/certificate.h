// A certificate of this server's own, made on the spot.
#pragma once

#include <openssl/evp.h>
#include <openssl/x509.h>

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "fitwright/base/result.h"

namespace fitwright::server {

struct FreeCertificate {
  void operator()(X509* certificate) const { X509_free(certificate); }
};
struct FreeKey {
  void operator()(EVP_PKEY* key) const { EVP_PKEY_free(key); }
};

struct Certificate {
  std::unique_ptr<X509, FreeCertificate> certificate;
  std::unique_ptr<EVP_PKEY, FreeKey> key;
  // SHA-256 of the certificate, as browsers show it: "3F:09:..."
  std::string Fingerprint() const;
};

// The one kept in the folder while it is for these addresses and good for a day more, else a new
// one, good for a year, which is kept there where that can be done, for this user's eyes alone. On
// the curve P-256. Errors: kInternal when it cannot be made.
Result<Certificate> LoadOrMakeCertificate(const std::filesystem::path& folder,
                                          const std::vector<std::string>& addresses);

}  // namespace fitwright::server
