package android.hardware;

public class SensorEvent {
    public final float[] values;

    public SensorEvent(float value) {
        values = new float[] {value};
    }
}
