#include "fitwright/server/certificate.h"

#include <fmt/format.h>
#include <openssl/pem.h>
#include <openssl/rand.h>
#include <openssl/x509v3.h>

#include <array>
#include <cstdio>
#include <ctime>

namespace fitwright::server {
namespace {

namespace fs = std::filesystem;

constexpr long kDay_s = 24L * 3600;
constexpr long kGood_s = 365 * kDay_s;
constexpr long kThirdVersion = 2;
constexpr int kSerialBytes = 15;

struct CloseFile {
  void operator()(std::FILE* file) const { (void)std::fclose(file); }
};
using File = std::unique_ptr<std::FILE, CloseFile>;

std::string NamesOf(const std::vector<std::string>& addresses) {
  std::string names = "DNS:localhost";
  for (const std::string& address : addresses) names += ",IP:" + address;
  return names;
}

bool AddExtension(X509* certificate, int which, const std::string& value) {
  X509V3_CTX context;
  X509V3_set_ctx_nodb(&context);
  X509V3_set_ctx(&context, certificate, certificate, nullptr, nullptr, 0);
  X509_EXTENSION* extension = X509V3_EXT_conf_nid(nullptr, &context, which, value.c_str());
  if (extension == nullptr) return false;
  const bool added = X509_add_ext(certificate, extension, -1) == 1;
  X509_EXTENSION_free(extension);
  return added;
}

bool SetSerial(X509* certificate) {
  std::array<unsigned char, kSerialBytes> bytes{};
  if (RAND_bytes(bytes.data(), kSerialBytes) != 1) return false;
  BIGNUM* number = BN_bin2bn(bytes.data(), kSerialBytes, nullptr);
  const bool set = number != nullptr &&
                   BN_to_ASN1_INTEGER(number, X509_get_serialNumber(certificate)) != nullptr;
  BN_free(number);
  return set;
}

bool Fill(X509* certificate, EVP_PKEY* key, const std::string& names) {
  X509_NAME* name = X509_get_subject_name(certificate);
  const auto* words = reinterpret_cast<const unsigned char*>("build book of this workshop");
  return X509_set_version(certificate, kThirdVersion) == 1 && SetSerial(certificate) &&
         X509_gmtime_adj(X509_getm_notBefore(certificate), -kDay_s) != nullptr &&
         X509_gmtime_adj(X509_getm_notAfter(certificate), kGood_s) != nullptr &&
         X509_NAME_add_entry_by_txt(name, "CN", MBSTRING_UTF8, words, -1, -1, 0) == 1 &&
         X509_set_issuer_name(certificate, name) == 1 && X509_set_pubkey(certificate, key) == 1 &&
         AddExtension(certificate, NID_basic_constraints, "critical,CA:FALSE") &&
         AddExtension(certificate, NID_key_usage, "critical,digitalSignature") &&
         AddExtension(certificate, NID_ext_key_usage, "serverAuth") &&
         AddExtension(certificate, NID_subject_alt_name, names) &&
         X509_sign(certificate, key, EVP_sha256()) > 0;
}

Result<Certificate> Make(const std::string& names) {
  Certificate made{std::unique_ptr<X509, FreeCertificate>(X509_new()),
                   std::unique_ptr<EVP_PKEY, FreeKey>(EVP_EC_gen("P-256"))};
  if (made.certificate && made.key && Fill(made.certificate.get(), made.key.get(), names))
    return made;
  return Unexpected(Error{ErrorCode::kInternal,
                          "no certificate could be made",
                          names,
                          "serve this machine alone, without --lan",
                          {}});
}

std::string KeptNames(X509* certificate) {
  auto* names = static_cast<GENERAL_NAMES*>(
      X509_get_ext_d2i(certificate, NID_subject_alt_name, nullptr, nullptr));
  std::string text;
  for (int i = 0; i < sk_GENERAL_NAME_num(names); ++i) {
    const GENERAL_NAME* name = sk_GENERAL_NAME_value(names, i);
    if (name->type == GEN_DNS) text += "DNS:localhost";
    if (name->type != GEN_IPADD) continue;
    const unsigned char* bytes = ASN1_STRING_get0_data(name->d.iPAddress);
    text += fmt::format(",IP:{}.{}.{}.{}", bytes[0], bytes[1], bytes[2], bytes[3]);
  }
  GENERAL_NAMES_free(names);
  return text;
}

// Nothing where there is none that will do.
Certificate Load(const fs::path& folder, const std::string& names) {
  Certificate kept;
  if (const File file{std::fopen((folder / "certificate.pem").c_str(), "re")})
    kept.certificate.reset(PEM_read_X509(file.get(), nullptr, nullptr, nullptr));
  if (const File file{std::fopen((folder / "key.pem").c_str(), "re")})
    kept.key.reset(PEM_read_PrivateKey(file.get(), nullptr, nullptr, nullptr));
  if (!kept.certificate || !kept.key) return {};
  std::time_t tomorrow = std::time(nullptr) + kDay_s;
  const bool good = X509_check_private_key(kept.certificate.get(), kept.key.get()) == 1 &&
                    X509_cmp_time(X509_get0_notAfter(kept.certificate.get()), &tomorrow) > 0 &&
                    KeptNames(kept.certificate.get()) == names;
  return good ? std::move(kept) : Certificate{};
}

void Keep(const fs::path& folder, const Certificate& made) {
  std::error_code failed;
  fs::create_directories(folder, failed);
  fs::permissions(folder, fs::perms::owner_all, failed);
  if (failed) return;
  if (const File file{std::fopen((folder / "key.pem").c_str(), "we")}) {
    fs::permissions(folder / "key.pem", fs::perms::owner_read | fs::perms::owner_write, failed);
    PEM_write_PrivateKey(file.get(), made.key.get(), nullptr, nullptr, 0, nullptr, nullptr);
  }
  if (const File file{std::fopen((folder / "certificate.pem").c_str(), "we")})
    PEM_write_X509(file.get(), made.certificate.get());
}

}  // namespace

std::string Certificate::Fingerprint() const {
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  unsigned length = 0;
  if (X509_digest(certificate.get(), EVP_sha256(), digest.data(), &length) != 1) return "";
  std::string text;
  for (unsigned i = 0; i < length; ++i)
    text += fmt::format("{}{:02X}", i == 0 ? "" : ":", digest[i]);
  return text;
}

Result<Certificate> LoadOrMakeCertificate(const fs::path& folder,
                                          const std::vector<std::string>& addresses) {
  const std::string names = NamesOf(addresses);
  Certificate kept = Load(folder, names);
  if (kept.certificate) return kept;
  auto made = Make(names);
  if (made) Keep(folder, *made);
  return made;
}

}  // namespace fitwright::server
