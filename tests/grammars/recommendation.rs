//! Forms of the Recommendation (W3C, Speech Recognition Grammar Specification 1.0, 16 March 2004), each with what
//! it matches and what it does not. The section each comes from is named; the words are ours.

use leadhand::understand::compile::compile;
use leadhand::understand::matching::{Path, paths};
use leadhand::understand::srgs::parse;
use leadhand::understand::typed::pieces;

/// Every path of a phrase through the rule `$x` of a grammar with these rules.
fn through(rules: &str, phrase: &str) -> Vec<Path> {
    let text = format!("#ABNF 1.0 UTF-8;\nlanguage en-US;\nmode voice;\nroot $x;\n{rules}\n");
    let grammar = parse("form.abnf", &text).unwrap_or_else(|problem| panic!("{problem}"));
    let automaton = compile(&[&grammar], "form.abnf", None).unwrap_or_else(|problem| panic!("{problem}"));
    paths(&automaton, &pieces(phrase))
}

#[track_caller]
fn check(section: &str, rules: &str, matches: &[&str], does_not: &[&str]) {
    for phrase in matches {
        assert!(!through(rules, phrase).is_empty(), "section {section}: {rules} matches {phrase:?}");
    }
    for phrase in does_not {
        assert!(through(rules, phrase).is_empty(), "section {section}: {rules} does not match {phrase:?}");
    }
}

#[test]
fn expansions_match_what_they_should() {
    check("2.1 tokens", "$x = drain pump;", &["drain pump"], &["drain", "pump drain", "drain pump pump"]);
    check("2.1 quoted tokens", r#"$x = "drain pump" off;"#, &["drain pump off"], &["off"]);
    check("2.2.1 rule references", "$x = the $part; $part = belt | fan;", &["the fan"], &["the", "fan"]);
    check("2.2.3 NULL", "$x = drain $NULL pump;", &["drain pump"], &["drain"]);
    check("2.2.3 VOID", "$x = drain | pump $VOID;", &["drain"], &["pump", ""]);
    check("2.2.3 GARBAGE as NULL", "$x = drain $GARBAGE pump;", &["drain pump"], &["drain the pump"]);
    check("2.3 sequences", "$x = (drain (the (pump)));", &["drain the pump"], &["drain", "pump"]);
    check("2.3 the empty group", "$x = drain ();", &["drain"], &["drain drain", ""]);
    check("2.4 alternatives", "$x = belt | fan | motor;", &["belt", "fan", "motor"], &["belt fan", ""]);
    check("2.4.1 weights", "$x = /10/ small | /2/ medium | large;", &["small", "medium", "large"], &["10"]);
    check("2.5 optional", "$x = [very] hot;", &["hot", "very hot"], &["very", "very very hot"]);
    check("2.5 exactly", "$x = go <3>;", &["go go go"], &["go go", "go go go go"]);
    check("2.5 between", "$x = go <1-3>;", &["go", "go go go"], &["", "go go go go"]);
    check("2.5 zero times", "$x = go <0> on;", &["on"], &["go on"]);
    check("2.5 zero or one", "$x = very <0-1> hot;", &["hot", "very hot"], &["very very hot"]);
    check("2.5.1 repeat probability", "$x = very <0-2 /0.6/> hot;", &["hot", "very very hot"], &["very"]);
    check("2.6 tags", "$x = belt {the belt} | fan {!{ a } b }!};", &["belt", "fan"], &["the belt"]);
    check("2.8 precedence: repeat before sequence", "$x = a b <2>;", &["a b b"], &["a b a b"]);
    check("2.8 precedence: sequence before choice", "$x = a b | c;", &["a b", "c"], &["a c"]);
    check("2.8 a group changes it", "$x = a (b | c) <2>;", &["a b c"], &["a b"]);
    check("3.2 scope", "private $y = b; public $x = a $y;", &["a b"], &["b"]);
    check("4.13 comments", "// a line $y = z;\n/* more */ $x = /* here */ a; /** doc */", &["a"], &["here"]);
}

#[test]
fn tags_come_in_the_order_of_the_words() {
    for (rules, phrase, tags) in [
        ("$x = a {1} b {2};", "a b", "1 2"),
        ("$x = {0} a {1} {2};", "a", "0 1 2"),
        ("$x = (a | b) {t};", "b", "t"),
        ("$x = a [b {2}] {3};", "a", "3"),
        ("$x = a [b {2}] {3};", "a b", "2 3"),
        ("$x = $y {late}; $y = a {early};", "a", "early late"),
        ("$x = (a {1}) <1-2> {end};", "a a", "1 1 end"),
        ("$x = fan {!{ a } b }!};", "fan", "a } b"),
    ] {
        let paths = through(rules, phrase);
        assert_eq!(paths.len(), 1, "{rules}");
        assert_eq!(paths[0].tags.join(" "), tags, "{rules}");
    }
    assert!(through("$x = a {1} b {2};", "a")[..].is_empty());
}

#[test]
fn weights_are_probabilities() {
    for (rules, phrase, probability) in [
        ("$x = /10/ small | /6/ medium | /4/ large;", "small", 0.5),
        ("$x = small | medium;", "small", 0.5),
        ("$x = [very] hot;", "hot", 0.5),
        ("$x = very <0-1 /0.2/> hot;", "very hot", 0.2),
        ("$x = very <0-2 /0.5/> hot;", "very very hot", 0.25),
        ("$x = go <1-4>;", "go go", 0.25),
        ("$x = a b | a c | d;", "a c", 1.0 / 3.0),
        ("$x = a | a;", "a", 1.0),
    ] {
        let found: f64 = through(rules, phrase).iter().map(|path| path.weight.exp()).sum();
        assert!((found - probability).abs() < 0.01, "{rules}: {phrase} is {found}");
    }
    assert!(through("$x = /0.1/ a | /0.9/ $VOID;", "a")[0].weight.exp() < 0.11, "what $VOID takes is lost");
}

#[test]
fn references_reach_other_grammars() {
    // Section 2.2.2: rules of other grammars, by name or by their root.
    let part =
        parse("part.abnf", "#ABNF 1.0;\nroot $part;\npublic $part = belt | $fan;\n$fan = fan;\n").unwrap();
    let form = |expansion: &str| {
        let text = format!("#ABNF 1.0;\nroot $x;\n$x = {expansion};\n");
        let form = parse("form.abnf", &text).unwrap();
        compile(&[&form, &part], "form.abnf", None)
    };
    for expansion in ["the $<part.abnf#part>", "the $<part.abnf>"] {
        assert!(!paths(&form(expansion).unwrap(), &pieces("the fan")).is_empty(), "{expansion}");
    }
    for (expansion, code) in [
        ("$<part.abnf#fan>", "private-rule"),
        ("$<part.abnf#pump>", "no-such-rule"),
        ("$<parts.abnf#part>", "no-such-grammar"),
        ("$part", "no-such-rule"),
    ] {
        assert_eq!(form(expansion).unwrap_err().complaint.code(), code, "{expansion}");
    }
}

#[test]
fn bad_grammars_are_refused_with_line_column_and_remedy() {
    let mut messages = Vec::new();
    for (text, code) in [
        ("root $x;\n$x = a;\n", "no-header"),
        ("#ABNF 2.0;\nroot $x;\n$x = a;\n", "no-header"),
        ("#ABNF 1.0;\nroot $x;\n$x = a\n", "unexpected"),
        ("#ABNF 1.0;\nroot $x;\n$x = ;\n", "unexpected"),
        ("#ABNF 1.0;\nroot $x;\n$x = a | ;\n", "unexpected"),
        ("#ABNF 1.0;\nroot $x;\n$x = (a | b;\n", "not-closed"),
        ("#ABNF 1.0;\nroot $x;\n$x = a {tag;\n", "not-closed"),
        ("#ABNF 1.0;\nroot $x;\n$x = a /* never\n", "not-closed"),
        ("#ABNF 1.0;\nroot $x;\n$x = a]  b;\n", "unexpected"),
        ("#ABNF 1.0;\nroot $x;\n$x = a <1->;\n", "unbounded-repeat"),
        ("#ABNF 1.0;\nroot $x;\n$x = a <3-1>;\n", "bad-repeat"),
        ("#ABNF 1.0;\nroot $x;\n$x = a <0-1 /2/>;\n", "bad-repeat"),
        ("#ABNF 1.0;\nroot $x;\n$x = a*;\n", "unexpected"),
        ("#ABNF 1.0;\nroot $x;\n$x = /0/ a | b;\n", "bad-weight"),
        ("#ABNF 1.0;\nroot $x;\n$x = /heavy/ a;\n", "bad-weight"),
        ("#ABNF 1.0;\nroot $x;\n$x = a!en-GB;\n", "unsupported"),
        ("#ABNF 1.0;\nmode dtmf;\nroot $x;\n$x = a;\n", "unsupported"),
        ("#ABNF 1.0;\nlexicon <words>;\nroot $x;\n$x = a;\n", "unsupported"),
        ("#ABNF 1.0;\nroute $x;\n$x = a;\n", "unknown-declaration"),
        ("#ABNF 1.0;\nroot $y;\n$x = a;\n", "no-such-rule"),
        ("#ABNF 1.0;\nroot $x;\n$x = a;\n$x = b;\n", "rule-defined-twice"),
        ("#ABNF 1.0;\nroot $x;\n$NULL = a;\n", "bad-rule-name"),
        ("#ABNF 1.0;\nroot $x;\n$x = a $y;\n$y = b [$x];\n", "recursive-rule"),
        ("#ABNF 1.0;\n$x = a;\n", "no-root"),
    ] {
        let problem = parse("bad.abnf", text)
            .and_then(|grammar| compile(&[&grammar], "bad.abnf", None).map(|_| ()))
            .expect_err(text);
        assert_eq!(problem.complaint.code(), code, "{text}");
        messages.push(problem.to_string());
    }
    let deep = format!("#ABNF 1.0;\nroot $x;\n$x = {}a{};\n", "(".repeat(70), ")".repeat(70));
    assert_eq!(parse("deep.abnf", &deep).unwrap_err().complaint.code(), "nested-too-deep");
    insta::assert_snapshot!("bad_grammars", messages.join("\n"));
}

#[test]
fn a_grammar_that_is_too_big_is_refused_not_awaited() {
    // Every alternative counts the whole phrase apart: nothing can be shared.
    let word = |n: usize| format!("w{n}");
    let tail = |n: usize| (0..40).map(|k| word((n >> (k % 12) & 1) + k)).collect::<Vec<_>>().join(" ");
    let alternatives = (0..4096).map(|n| format!("{} {n}", tail(n))).collect::<Vec<_>>().join(" | ");
    let grammar = parse("big.abnf", &format!("#ABNF 1.0;\nroot $x;\n$x = {alternatives};\n")).unwrap();
    let problem = compile(&[&grammar], "big.abnf", None).unwrap_err();
    assert_eq!((problem.complaint.code(), problem.line), ("grammar-too-big", 3));
}
