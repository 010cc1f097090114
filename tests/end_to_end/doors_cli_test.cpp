// SPDX-License-Identifier: Apache-2.0
// Bad input at the command line, against a running daemon: exact sentence and exit status.
#include <doctest/doctest.h>

#include "tests/end_to_end/doors_bench.hpp"

using namespace catwalk::test;

TEST_CASE("bad words are told exactly, by exit status too, and change nothing") {
  DoorsBench bench;
  const auto before = bench.state();
  struct Case {
    std::vector<std::string> words;
    int status;
    std::string output;
  };
  for (const auto& [words, status, output] : std::vector<Case>{
           {{}, 2, "a command is needed; catwalk --help lists them\n"},
           {{"tune"}, 2, "there is no command \"tune\"; catwalk --help lists them\n"},
           {{"nodes", "--loud"}, 2, "there is no option \"--loud\"; catwalk --help lists them\n"},
           {{"show"}, 2, "\"show\" needs more words: catwalk show NODE\n"},
           {{"show", "net-1", "net-2"}, 2, "\"net-2\" is one word too many: catwalk show NODE\n"},
           {{"set", "net-1", "gain=lots"},
            2,
            "\"gain=lots\" cannot be used; allowed is gain=DB, such as gain=-1.5\n"},
           {{"set", "net-1", "power=up"},
            2,
            "\"power=up\" cannot be used; allowed is power=on or power=off\n"},
           {{"set", "net-1"}, 2, "nothing to change: give setting=value or --as-planned\n"},
           {{"set", "net-9", "gain=6"}, 2, "There is no node \"net-9\".\n"},
           {{"show", "../rack"}, 2, "There is no node \"..%2Frack\".\n"},
           {{"set", "net-1", "gain=6.005"},
            2,
            "gain_db is 6.005; allowed is a number of dB from -12 to 27 in steps of 1.\n"},
           {{"set", "net-1", "label=seventeen letters"},
            2,
            "label is \"seventeen letters\"; allowed is text of at most 16 bytes.\n"},
           {{"set", "net-1", "gain=28"},
            3,
            "Refused; nothing was changed.\n"
            "  refuse  gain-range at net-1: A tern-inline cannot do +28 dB; it goes from -12 dB to "
            "+27 dB.\n"
            "  refuse  gain-limit at net-1: +28 dB is outside the rack's own limits, -12 dB to +20 "
            "dB.\n"},
           {{"journal", "--limit", "0"},
            2,
            "limit is \"0\"; allowed is a whole number from 1 to 1000.\n"},
           {{"acknowledge", "nine"},
            2,
            "\"nine\" cannot be used; allowed are numbers and ranges, such as 3 and 5-9\n"},
           {{"acknowledge", "9-3"},
            2,
            "\"9-3\" cannot be used; allowed are numbers and ranges, such as 3 and 5-9\n"},
           {{"shelve", "nine", "--for", "30m", "--why", "x"}, 2, "There is no alarm \"nine\".\n"},
           {{"shelve", "99", "--for", "30m", "--why", "x"}, 2, "There is no alarm no. 99.\n"},
           {{"shelve", "99", "--for", "25h", "--why", "x"},
            2,
            "for_s is 90000; allowed is a whole number from 60 to 86400.\n"},
           {{"shelve", "99", "--for", "ever", "--why", "x"},
            2,
            "\"ever\" cannot be used; allowed is a time such as 90s, 30m or 2h\n"},
           {{"shelve", "99", "--for", "30m"},
            2,
            "\"shelve\" needs --why; catwalk shelve --help says more\n"},
           {{"unshelve", "99"}, 2, "There is no alarm no. 99.\n"},
           {{"journal", "--from", "noon"},
            2,
            "from is \"noon\"; allowed is a time such as 2026-08-14T20:15:00Z (RFC 3339), or 19:00 "
            "or "
            "2026-08-14 19:00 by the clock of UTC.\n"},
           {{"journal", "--csv", "--limit", "50001"},
            2,
            "limit is \"50001\"; allowed is a whole number from 1 to 50000.\n"},
           {{"report", "--to", "midnight"},
            2,
            "to is \"midnight\"; allowed is a time such as 2026-08-14T20:15:00Z (RFC 3339), or "
            "19:00 or "
            "2026-08-14 19:00 by the clock of UTC.\n"},
           {{"report", "--json"}, 2, "this is a document, not JSON: leave --json out\n"},
           {{"discover", "attic"}, 2, "There is no line \"attic\" in this rack.\n"},
           {{"segment", "encore"}, 2, "There is no segment \"encore\" in this rack.\n"},
           {{"locate", "net-1", "256"},
            2,
            "seconds is 256; allowed is a whole number from 0 to 255.\n"},
           {{"journal", "--node", "net-9"}, 2, "There is no node \"net-9\".\n"},
           {{"take-over"}, 2, "\"take-over\" needs --why; catwalk take-over --help says more\n"},
           {{"explain", "net-9"}, 2, "There is no node \"net-9\".\n"},
           {{"explain", "net-1", "--segment", "encore"},
            2,
            "segment is \"encore\"; allowed is one of speeches, finale.\n"},
           {{"explain", "net-1", "--carrier", "ears-1"},
            2,
            "carrier is \"ears-1\"; allowed is one of voice.\n"},
           {{"routes", "net-1"}, 2, "There is no matrix \"net-1\".\n"},
           {{"route", "shore", "output-1=3"}, 2, "There is no matrix \"shore\".\n"},
           {{"route", "shore"},
            2,
            "\"route\" needs more words: catwalk route MATRIX setting=value …\n"},
           {{"route", "shore", "trim-3=low"},
            2,
            "\"trim-3=low\" cannot be used; allowed is trim-N=DB, such as trim-3=-4.5; N from 1 to "
            "32\n"},
           {{"check-route", "shore", "gain=3"},
            2,
            "\"gain=3\" cannot be used; allowed is output-N=, trim-N=, supply-N=, label-N= or "
            "label=, "
            "N from 1\n"},
           {{"recommend", "net-9"}, 2, "There is no node \"net-9\".\n"},
           {{"recommend", "--segment", "encore"}, 2, "There is no segment \"encore\".\n"},
           {{"check-segment", "encore"}, 2, "There is no segment \"encore\".\n"},
           {{"what-if", "net-1", "center=518"},
            2,
            "\"center=518\" cannot be used; allowed is gain=, filter=, centre=, power= or label=; "
            "did you mean centre=?\n"},
           {{"what-if", "net-1", "--louder", "ears-1"},
            2,
            "--louder \"ears-1\" cannot be used; allowed is CARRIER=DB, such as ear-1=6\n"},
           {{"what-if", "net-1", "--louder", "ears-1=99"},
            2,
            "louder_db of ears-1: 99 is out of range. Allowed is -60 to 60 dB.\n"},
           {{"set", "net-1", "gain=6", "--waive", "so"},
            2,
            "--waive REASON and --by NAME go together\n"},
           {{"nodes", "--token-file", "/no/such/file"},
            2,
            "no token can be read from /no/such/file\n"},
           {{"nodes", "--server", "ftp://rack"},
            2,
            "\"ftp://rack\" is not the address of a daemon; allowed is http://HOST:PORT, "
            "https://HOST:PORT or unix:FILE\n"}}) {
    const auto& the_output = output;
    CAPTURE(the_output);
    const auto ran = bench.rig.run(words);
    CHECK(ran.status == status);
    CHECK(ran.output == "catwalk: " + output);
    CHECK(bench.state() == before);
  }
  CHECK(bench.trouble() == "");
}
