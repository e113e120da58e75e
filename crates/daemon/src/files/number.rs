//! Numbers with the range that makes sense for them.

/// Defines a number of a file with its unit, its range, its reader and its schema.
macro_rules! number {
    ($(
        $(#[doc = $doc:literal])+
        $name:ident, $kind:literal, $meaning:literal, $low:literal to $high:literal, such as $example:literal;
    )+) => {$(
        $(#[doc = $doc])+
        #[derive(Clone, Copy, Debug, PartialEq)]
        pub(in $crate::files) struct $name(pub(in $crate::files) f64);

        impl schemars::JsonSchema for $name {
            fn schema_name() -> std::borrow::Cow<'static, str> {
                stringify!($name).into()
            }
            fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
                schemars::json_schema!({ "type": $kind, "minimum": $low, "maximum": $high })
            }
        }

        impl $crate::files::wire::Wire for $name {
            fn read(
                node: &$crate::files::wire::Node<'_>,
                problems: &mut $crate::files::problem::Problems,
            ) -> Option<Self> {
                let whole = $kind == "integer";
                let written = $crate::files::number::finite(node)
                    .filter(|written| ($low..=$high).contains(written) && !(whole && written.fract() != 0.0));
                if written.is_none() {
                    let right = format!("write {} from {} to {}, such as {}", $meaning, $low, $high, $example);
                    node.refuse(problems, concat!("not ", $meaning, " in range"), right);
                }
                written.map(Self)
            }
        }
    )+};
}

use toml::de::DeValue;

use super::wire::Node;

/// The number a value is, if it is one and finite.
pub(super) fn finite(node: &Node<'_>) -> Option<f64> {
    let number: f64 = match node.value {
        DeValue::Integer(integer) if integer.radix() == 10 => integer.as_str().parse().ok()?,
        DeValue::Float(float) => float.as_str().parse().ok()?,
        // Hexadecimal, octal and binary are no notation for degrees or watts.
        DeValue::Integer(_)
        | DeValue::String(_)
        | DeValue::Boolean(_)
        | DeValue::Datetime(_)
        | DeValue::Array(_)
        | DeValue::Table(_) => return None,
    };
    number.is_finite().then_some(number)
}

number! {
    /// A temperature in the file's scale; its range depends on what it is for.
    Degrees, "number", "a temperature", -500.0 to 6000.0, such as "1222";
    /// A difference of temperatures in the file's scale.
    Difference, "number", "a difference of temperatures", -500.0 to 500.0, such as "-2.5";
    /// Power.
    RatedWatts, "number", "a power in watts", 10.0 to 100000.0, such as "4800";
    /// Electric current.
    SupplyAmps, "number", "a current in amperes", 1.0 to 400.0, such as "32";
    /// Electric tension.
    SupplyVolts, "number", "a tension in volts", 12.0 to 1000.0, such as "230";
    /// Volume.
    Litres, "number", "a volume in litres", 0.5 to 5000.0, such as "150";
    /// Length.
    Millimetres, "number", "a length in millimetres", 10.0 to 5000.0, such as "450";
    /// Thickness of a kiln's wall.
    WallMillimetres, "number", "a wall's thickness in millimetres", 20.0 to 600.0, such as "115";
    /// Thickness of a thermocouple's wire.
    WireMillimetres, "number", "a wire's thickness in millimetres", 0.05 to 8.0, such as "3.25";
    /// Mass.
    Kilograms, "number", "a mass in kilograms", 0.0 to 2000.0, such as "30";
    /// Mains as a share of its nominal tension.
    MainsPercent, "number", "a share of the nominal mains in percent", 50.0 to 120.0, such as "97";
    /// How much faster than real time.
    Speed, "number", "a number of times real time", 1.0 to 100000.0, such as "60";
    /// Where chance starts.
    Seed, "integer", "a whole number", 0.0 to 4294967295.0, such as "7";
    /// The price of a kilowatt hour.
    Price, "number", "a price", 0.0 to 1000000.0, such as "0.32";
    /// A pin of the board, by its GPIO number.
    PinNumber, "integer", "a GPIO number", 0.0 to 511.0, such as "17";
    /// A bus of the board.
    BusNumber, "integer", "a bus number", 0.0 to 31.0, such as "0";
    /// A chip select of a bus.
    ChipSelect, "integer", "a chip select", 0.0 to 7.0, such as "0";
    /// An input of the converter.
    ConverterInput, "integer", "an input's number", 0.0 to 7.0, such as "0";
    /// The converter's reference.
    ReferenceVolts, "number", "a tension in volts", 1.0 to 5.5, such as "3.3";
    /// What a clamp gives.
    AmpsPerVolt, "number", "a number of amperes for each volt", 0.1 to 1000.0, such as "30";
    /// What is added to a measured current.
    OffsetAmps, "number", "a current in amperes", -20.0 to 20.0, such as "-0.2";
    /// Operations a relay stands.
    Operations, "integer", "a number of operations", 1000.0 to 100000000.0, such as "100000";
}
