#include "stepper_sim/report/escape.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <nlohmann/json.hpp>

namespace {

using namespace stepper_sim;

TEST(Escape, MarkupBecomesEntities) {
    EXPECT_EQ(report::html_text("<b a='1' c=\"2\">&"),
              "&lt;b a=&#39;1&#39; c=&quot;2&quot;&gt;&amp;");
}

RC_GTEST_PROP(Escape, NoTextCanOpenATagOrEndAnAttribute, (const std::string& text)) {
    const std::string out = report::html_text(text);
    RC_ASSERT(out.find_first_of("<>\"'") == std::string::npos);
}

RC_GTEST_PROP(Escape, DataInAScriptStaysTheSameDataAndHoldsNoMarkup, (const std::string& text)) {
    const nlohmann::json json{{"text", text}};
    const std::string plain = json.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
    const std::string safe = report::script_safe(plain);
    RC_ASSERT(safe.find_first_of("<>&") == std::string::npos);
    RC_ASSERT(nlohmann::json::parse(safe) == nlohmann::json::parse(plain));
}

TEST(Escape, LineSeparatorsOfScriptsAreWrittenAsEscapes) {
    EXPECT_EQ(report::script_safe("\"a\xE2\x80\xA8"
                                  "b\xE2\x80\xA9\""),
              "\"a\\u2028b\\u2029\"");
}

// RFC 4648 section 10, test vectors (from memory).
TEST(Escape, Base64AgreesWithThePublishedVectors) {
    const auto of = [](std::string_view text) {
        return report::base64({reinterpret_cast<const unsigned char*>(text.data()), text.size()});
    };
    EXPECT_EQ(of(""), "");
    EXPECT_EQ(of("f"), "Zg==");
    EXPECT_EQ(of("fo"), "Zm8=");
    EXPECT_EQ(of("foobar"), "Zm9vYmFy");
}

}  // namespace
