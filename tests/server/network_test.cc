// Other devices of the network: encrypted, paired once by a code, each with a token of its own.
#include <httplib.h>

#include <algorithm>
#include <array>
#include <cctype>

#include "fitwright/base/system.h"
#include "fitwright/server/certificate.h"
#include "fitwright/server/pairing.h"
#include "fitwright/server/qr_code.h"
#include "tests/server/served.h"

namespace fitwright::server {
namespace {

class Network : public Served {
 protected:
  void ServeNetwork() {
    ServerOptions options = Options();
    options.lan = true;
    options.lan_folder = folder_ / "lan";
    options.paired = [this] { ++paired_; };
    Serve(options);
    access_ = server_->FindNetworkAccess();
    ASSERT_TRUE(access_);
    const std::string& address = access_->addresses.front();
    const std::size_t colon = address.rfind(':');
    host_ = address.substr(8, colon - 8);
    port_ = std::stoi(address.substr(colon + 1));
  }
  httplib::Result Ask(const std::string& path, const httplib::Headers& headers = {}) const {
    httplib::SSLClient client(host_, port_);
    client.enable_server_certificate_verification(false);
    return client.Get(path, headers);
  }
  httplib::Result Pair(const std::string& code) const {
    httplib::SSLClient client(host_, port_);
    client.enable_server_certificate_verification(false);
    return client.Post("/api/pair", code, "text/plain");
  }

  std::optional<NetworkAccess> access_;
  std::string host_;
  int port_ = 0;
  int paired_ = 0;
};

TEST_F(Network, ADeviceIsPairedOnceAndKnownFromThenOn) {
  if (NetworkAddresses().empty()) GTEST_SKIP() << "this machine is on no network";
  ServeNetwork();
  EXPECT_EQ(Ask("/")->status, 200) << "the page that asks for the code";
  EXPECT_EQ(Ask("/api/project")->status, 401);
  EXPECT_EQ(Ask("/api/project", {{"Cookie", "fitwright-device=" + std::string(32, '0')}})->status,
            401);
  EXPECT_EQ(Pair("AAAA-AAAA")->status, 403);
  const auto pair = Pair(access_->code);
  ASSERT_TRUE(pair);
  ASSERT_EQ(pair->status, 200) << pair->body;
  EXPECT_EQ(paired_, 1);
  const std::string cookie = pair->get_header_value("Set-Cookie");
  for (const char* word : {"Secure", "HttpOnly", "SameSite=Strict"})
    EXPECT_NE(cookie.find(word), std::string::npos) << cookie;
  const httplib::Headers known = {{"Cookie", "x=1; " + cookie.substr(0, cookie.find(';'))}};
  EXPECT_EQ(Ask("/api/project", known)->status, 200);
  EXPECT_EQ(Pair(access_->code)->status, 403) << "a code is used once";
  EXPECT_NE(server_->FindNetworkAccess()->code, access_->code);
  httplib::Headers foreign = known;
  foreign.emplace("Host", "evil.example");
  EXPECT_EQ(Ask("/api/project", foreign)->status, 403);
}

TEST_F(Network, ThisMachineNeedsNoCodeAndUnencryptedNobodyIsAnswered) {
  if (NetworkAddresses().empty()) GTEST_SKIP() << "this machine is on no network";
  ServeNetwork();
  httplib::Client own("127.0.0.1", port());
  EXPECT_EQ(own.Get("/api/project")->status, 200);
  httplib::Client plain(host_, port_);
  EXPECT_FALSE(plain.Get("/api/project"));
}

TEST_F(Network, TheCertificateIsKeptAndMadeAnewForOtherAddresses) {
  const auto first = LoadOrMakeCertificate(folder_ / "lan", {"192.0.2.1"});
  ASSERT_TRUE(first);
  EXPECT_EQ(first->Fingerprint().size(), 32 * 3 - 1U);
  const auto again = LoadOrMakeCertificate(folder_ / "lan", {"192.0.2.1"});
  EXPECT_EQ(again->Fingerprint(), first->Fingerprint());
  const auto other = LoadOrMakeCertificate(folder_ / "lan", {"192.0.2.1", "192.0.2.7"});
  EXPECT_NE(other->Fingerprint(), first->Fingerprint());
  std::ofstream(folder_ / "lan/key.pem") << "torn";
  EXPECT_TRUE(LoadOrMakeCertificate(folder_ / "lan", {"192.0.2.1", "192.0.2.7"}));
  EXPECT_EQ(fs::status(folder_ / "lan").permissions(), fs::perms::owner_all);
}

TEST(ThePairing, ChangesItsCodeAfterFiveWrongOnesAndAfterAWhile) {
  const auto begun = Pairing::Clock::now();
  Pairing pairing(begun);
  const std::string code = pairing.GetCode(begun);
  for (int i = 0; i < 4; ++i) EXPECT_FALSE(pairing.Redeem("WRON-GONE", begun));
  EXPECT_EQ(pairing.GetCode(begun), code);
  EXPECT_FALSE(pairing.Redeem("", begun));
  EXPECT_NE(pairing.GetCode(begun), code);
  EXPECT_FALSE(pairing.Redeem(code, begun));
  const std::string second = pairing.GetCode(begun);
  EXPECT_FALSE(pairing.Redeem(second, begun + std::chrono::minutes(16)));
  std::string third = pairing.GetCode(begun + std::chrono::minutes(16));
  std::erase(third, '-');
  std::transform(third.begin(), third.end(), third.begin(),
                 [](unsigned char c) { return std::tolower(c); });
  const auto token = pairing.Redeem(third, begun + std::chrono::minutes(17));
  ASSERT_TRUE(token) << "as it is keyed in";
  EXPECT_TRUE(pairing.Knows(*token));
  EXPECT_FALSE(pairing.Knows("") || pairing.Knows(third));
}

// The way back, as a camera's program goes it: format, mask, codewords; none of the other's code.
std::string ReadBack(const QrCode& code) {
  const auto in_pattern = [&](int r, int c) {
    const int last = code.size - 1;
    const bool finders =
        (r <= 8 && c <= 8) || (r <= 8 && c >= last - 7) || (r >= last - 7 && c <= 8);
    const int centre = code.size - 7;
    const bool alignment = code.size > 21 && std::abs(r - centre) <= 2 && std::abs(c - centre) <= 2;
    return finders || alignment || r == 6 || c == 6;
  };
  unsigned format = 0;
  for (const int c : {0, 1, 2, 3, 4, 5, 7, 8}) format = format << 1 | (code.At(8, c) ? 1U : 0U);
  for (const int r : {7, 5, 4, 3, 2, 1, 0}) format = format << 1 | (code.At(r, 8) ? 1U : 0U);
  const unsigned mask = ((format ^ 0x5412U) >> 10) & 7U;
  EXPECT_EQ((format ^ 0x5412U) >> 13, 1U) << "level L";
  static constexpr std::array kMask = {+[](int r, int c) { return (r + c) % 2; },
                                       +[](int r, int) { return r % 2; },
                                       +[](int, int c) { return c % 3; },
                                       +[](int r, int c) { return (r + c) % 3; },
                                       +[](int r, int c) { return (r / 2 + c / 3) % 2; },
                                       +[](int r, int c) { return r * c % 2 + r * c % 3; },
                                       +[](int r, int c) { return (r * c % 2 + r * c % 3) % 2; },
                                       +[](int r, int c) { return ((r + c) % 2 + r * c % 3) % 2; }};
  std::vector<bool> bits;
  bool up = true;
  for (int right = code.size - 1; right > 0; right -= 2, up = !up) {
    if (right == 6) --right;
    for (int i = 0; i < code.size; ++i) {
      const int r = up ? code.size - 1 - i : i;
      for (const int c : {right, right - 1})
        if (!in_pattern(r, c)) bits.push_back(code.At(r, c) != (kMask[mask](r, c) == 0));
    }
  }
  const std::size_t blocks = code.size == 41 ? 2 : 1;
  const auto codeword = [&](std::size_t i) {
    const std::size_t at = blocks == 1 ? i : (i < 68 ? 2 * i : 2 * (i - 68) + 1);
    unsigned byte = 0;
    for (std::size_t k = 0; k < 8; ++k) byte = byte << 1 | (bits[8 * at + k] ? 1U : 0U);
    return byte;
  };
  const auto four_bits_on = [&](std::size_t i) {
    return static_cast<char>((codeword(i) & 15U) << 4 | codeword(i + 1) >> 4);
  };
  std::string text;
  const auto length = static_cast<unsigned char>(four_bits_on(0));
  for (std::size_t i = 1; i <= length; ++i) text += four_bits_on(i);
  return text;
}

TEST(TheQrCode, ReadsBackAtEverySize) {
  for (const std::size_t length : {0U, 1U, 17U, 18U, 32U, 53U, 78U, 106U, 107U, 134U}) {
    std::string text;
    for (std::size_t i = 0; i < length; ++i) text += static_cast<char>('!' + i * 7 % 90);
    const auto code = MakeQrCode(text);
    ASSERT_TRUE(code) << length;
    EXPECT_EQ(ReadBack(*code), text) << length;
  }
  EXPECT_FALSE(MakeQrCode(std::string(kMostQrBytes + 1, 'a')));
}

TEST(TheQrCode, IsDrawnForADarkGround) {
  const auto code = MakeQrCode("a");
  ASSERT_TRUE(code);
  const std::string text = QrText(*code);
  EXPECT_EQ(std::count(text.begin(), text.end(), '\n'), 13);
  EXPECT_EQ(text.rfind("\u2588\u2588", 0), 0U) << "the quiet zone is light";
}

}  // namespace
}  // namespace fitwright::server
