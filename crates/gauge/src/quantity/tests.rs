use super::*;

#[test]
fn moistures_turn_about() {
    let wet = MoistureWet::from_fraction(0.45).unwrap();
    assert!((wet.dry().fraction() - 0.818_181_818).abs() < 1e-9);
    assert!((wet.dry().wet().fraction() - 0.45).abs() < 1e-15);
    assert!(MoistureWet::from_fraction(1.0).is_err());
}

#[test]
fn grain_dried_keeps_its_dry_matter() {
    let green = GrainMass::new(1000.0, MoistureWet::from_fraction(0.45).unwrap()).unwrap();
    let malt = green.at_moisture(MoistureWet::from_fraction(0.045).unwrap());
    assert!((malt.dry_matter().kg() - 550.0).abs() < 1e-9);
    assert!((malt.kg() - 550.0 / 0.955).abs() < 1e-9);
    assert!((malt.water_kg() + malt.dry_matter().kg() - malt.kg()).abs() < 1e-9);
}

#[test]
fn phenols_on_dry_malt_are_more_than_as_it_lies() {
    let moisture = MoistureWet::from_fraction(0.05).unwrap();
    let as_is = PhenolAsIs::from_mg_kg(38.0).unwrap();
    assert!((as_is.on_dry(moisture).mg_kg() - 40.0).abs() < 1e-9);
    assert!((as_is.on_dry(moisture).as_is(moisture).mg_kg() - 38.0).abs() < 1e-9);
}

#[test]
fn temperatures_step() {
    let set = Celsius::from_degrees(19.0).unwrap() + KelvinStep::from_kelvin(1.5).unwrap();
    assert!((set.degrees() - 20.5).abs() < 1e-12);
    assert!(((set - Celsius::TWENTY).kelvin() - 0.5).abs() < 1e-12);
}

#[test]
fn every_quantity_refuses_what_is_not_a_number_or_out_of_range() {
    let refused = [
        Strength::from_percent(f64::NAN).is_err(),
        Strength::from_percent(100.1).is_err(),
        MassFraction::from_fraction(-0.1).is_err(),
        VolumeAt20::from_litres(-1.0).is_err(),
        Celsius::from_degrees(f64::INFINITY).is_err(),
        BulkVolume::new(100.0, Celsius(41.0)).is_err(),
        BulkVolume::new(f64::NAN, Celsius::TWENTY).is_err(),
        GrainMass::new(-1.0, MoistureWet(0.1)).is_err(),
    ];
    assert_eq!(refused, [true; 8]);
}

#[test]
fn the_fault_of_a_quantity_names_it_in_words() {
    let fault = Strength::from_percent(104.0).unwrap_err();
    assert_eq!(fault.to_string(), "strength_pct is 104 % vol; allowed 0 to 100 % vol");
}
