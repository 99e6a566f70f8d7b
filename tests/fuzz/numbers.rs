//! Lengths, prices, and the other numbers that somebody may type.

use bellstack::model::kinds::Quantity;
use bellstack::model::length::{LONGEST, Length, Ratio, Scale, Unit};
use bellstack::model::money::Cents;
use bellstack::model::part::read_plain;

use crate::dice::Dice;
use crate::{Target, hunt};

struct Lengths;

impl Target for Lengths {
    const NAME: &'static str = "lengths";

    fn input(dice: &mut Dice) -> String {
        let length = dice.length();
        match dice.roll(4) {
            0 => length,
            1 => dice.scraps(6),
            _ => dice.mangled(&length),
        }
    }

    fn run(&mut self, input: &str) -> bool {
        let bare = [Scale::Inch, Scale::Thou, Scale::Millimetre];
        let read = bare.into_iter().map(|scale| Length::parse_in(input, scale));
        let lengths: Vec<Length> = read.chain([Length::parse(input)]).flatten().collect();
        for length in &lengths {
            let length = *length;
            assert!(length.abs() <= LONGEST, "{input:?}: {length}");
            for unit in [Unit::In, Unit::Mm] {
                let exact = length.exact(unit);
                assert_eq!(Length::parse(&exact).unwrap(), length, "{input:?} shown as {exact}");
                for fine in [false, true] {
                    let shown = format!("{} {}", length.digits(unit, fine), unit.name());
                    let rounded = Length::parse(&shown).unwrap();
                    assert!(
                        (rounded - length).abs() <= Length::from_nm(12_700),
                        "{input:?}: {shown}"
                    );
                }
            }
        }
        for quantity in [Quantity::Ratio, Quantity::Count, Quantity::Torque, Quantity::Length] {
            let _ = read_plain(quantity, input);
        }
        if let Ok(ratio) = Ratio::parse(input) {
            assert_eq!(Ratio::parse(&ratio.to_string()).unwrap(), ratio, "{input:?}: {ratio}");
        }
        !lengths.is_empty()
    }
}

struct Prices;

impl Target for Prices {
    const NAME: &'static str = "prices";

    fn input(dice: &mut Dice) -> String {
        let sign = dice.pick(&["", "", "$", "USD ", "EUR ", "\u{20ac}"]);
        let price = format!("{sign}{}.{:02}", dice.roll(100_000), dice.roll(100));
        match dice.roll(4) {
            0 => price,
            1 => dice.scraps(5),
            _ => dice.mangled(&price),
        }
    }

    fn run(&mut self, input: &str) -> bool {
        let Ok(price) = Cents::parse_in(input, "USD") else { return false };
        assert!((0..=1_000_000_000).contains(&price.get()), "{input:?}: {price}");
        assert_eq!(Cents::parse(&price.to_string()).unwrap(), price, "{input:?}: {price}");
        true
    }
}

#[test]
fn lengths() {
    hunt(Lengths);
}

#[test]
fn prices() {
    hunt(Prices);
}
