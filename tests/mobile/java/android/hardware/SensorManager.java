package android.hardware;

import java.util.ArrayList;
import java.util.List;

/** Tells who listens how bright it is, on a thread of its own, as Android's looper does. */
public abstract class SensorManager {
    public static final int SENSOR_DELAY_NORMAL = 3;
    public final List<SensorEventListener> listeners = new ArrayList<>();
    public boolean hasNoLightSensor = false;

    public Sensor getDefaultSensor(int type) {
        return type == Sensor.TYPE_LIGHT && !hasNoLightSensor ? new Sensor() : null;
    }

    public boolean registerListener(
            SensorEventListener listener, Sensor sensor, int samplingPeriodUs) {
        return samplingPeriodUs == SENSOR_DELAY_NORMAL && listeners.add(listener);
    }

    public void unregisterListener(SensorEventListener listener, Sensor sensor) {
        listeners.remove(listener);
    }

    public int listening() {
        return listeners.size();
    }

    public void shines(float light) throws InterruptedException {
        Thread looper = new Thread(() -> {
            for (SensorEventListener one : listeners) one.onSensorChanged(new SensorEvent(light));
        });
        looper.start();
    }
}
